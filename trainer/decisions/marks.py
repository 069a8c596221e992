"""What was heard on a pass beside what was measured, and what was decided of the two ends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from trainer.decisions.sheet import Decision, Finding
from trainer.decisions.song_edges import Edge, SongEdges

# A mark belongs to what begins up to so long before it; the person's own delay is taken off beforehand.
LATE_S, EARLY_S = 1.5, 0.5
# What the fault scan finds at either end, and what a person sends back there without a finding.
EDGE_KINDS: dict[Edge, tuple[str, ...]] = {"head": ("head_noise", "abrupt_start"), "tail": ("abrupt_end",)}
EDGE_NOTES: dict[Edge, str] = {"head": "the head of the file", "tail": "the tail of the file"}


def merge_marks(
    measured: Sequence[Finding], marks: Sequence[tuple[float, str]], before: Sequence[Finding] = ()
) -> tuple[Finding, ...]:
    """Set marks beside measured findings; a mark near one is that one, heard and measured.

    Parameters
    ----------
    measured : sequence of Finding
        Of the fault scan.
    marks : sequence of (float, str)
        Times of this pass, s, and what was heard.
    before : sequence of Finding
        As they stood: what was heard earlier stays heard, and what was decided stays decided.

    Returns
    -------
    tuple of Finding
        In the order of the song.
    """
    found = [replace(each, heard=False) for each in measured]
    own: list[Finding] = []
    for at_s, kind in marks:
        near = [place for place, each in enumerate(found) if each.start_s - EARLY_S <= at_s <= each.end_s + LATE_S]
        if near:
            place = min(near, key=lambda one: abs(found[one].start_s - at_s))
            found[place] = replace(found[place], heard=True)
        else:
            own.append(Finding(kind, at_s, at_s, heard=True))
    merged = [_remember(each, before) for each in (*found, *own)]
    known = {(each.kind, each.start_s) for each in merged}
    merged += [each for each in before if each.heard and not each.measured and (each.kind, each.start_s) not in known]
    return tuple(sorted(merged, key=lambda each: each.start_s))


def find_edge(finding: Finding, edges: SongEdges) -> Edge | None:
    """Tell whether a fade can reach a finding: before the music, behind its last loud moment, or neither."""
    for edge, kinds in EDGE_KINDS.items():
        if finding.kind in kinds or finding.note == EDGE_NOTES[edge]:
            return edge
    if finding.end_s <= edges.music_from_s:
        return "head"
    return "tail" if finding.start_s > edges.last_loud_s else None


def decide_edge(
    findings: Sequence[Finding], edge: Edge, decision: Decision, edges: SongEdges, at_s: float
) -> tuple[Finding, ...]:
    """Decide on one end of a song, and with it on all that was found there.

    Parameters
    ----------
    findings : sequence of Finding
        All there are.
    edge : str
        ``head`` or ``tail``.
    decision : str
        ``mix``, ``keep`` or ``leave`` (the fade takes it).
    edges : SongEdges
        Where the ends are.
    at_s : float
        Where the file begins or ends, s: what goes back to the mix is a finding, also where nothing was measured.

    Returns
    -------
    tuple of Finding
        In the order of the song.
    """
    rest = [each for each in findings if each.note != EDGE_NOTES[edge]]
    there = [each for each in rest if find_edge(each, edges) == edge]
    decided = [replace(each, decision=decision, together=False) if each in there else each for each in rest]
    if decision == "mix" and not there:
        decided.append(Finding("anything", at_s, at_s, heard=True, decision="mix", note=EDGE_NOTES[edge]))
    return tuple(sorted(decided, key=lambda each: each.start_s))


def tell_decision(findings: Sequence[Finding], edge: Edge, edges: SongEdges, taken: bool) -> Decision:
    """Tell what was decided of one end: what is sent back stays said, also where a fade is taken besides."""
    there = [each.decision for each in findings if find_edge(each, edges) == edge]
    if "mix" in there:
        return "mix"
    return "leave" if taken else "keep" if there and set(there) == {"keep"} else "open"


def _remember(finding: Finding, before: Sequence[Finding]) -> Finding:
    """Keep what was heard and decided of the same finding."""
    for earlier in before:
        if (earlier.kind, earlier.start_s) == (finding.kind, finding.start_s):
            heard = finding.heard or earlier.heard
            together = earlier.together
            return replace(finding, heard=heard, decision=earlier.decision, note=earlier.note, together=together)
    return finding
