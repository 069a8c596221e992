"""What was heard on a pass beside what was measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from trainer.decisions.sheet import Finding

# A mark belongs to what begins up to so long before it; the person's own delay is taken off beforehand.
LATE_S, EARLY_S = 1.5, 0.5


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


def _remember(finding: Finding, before: Sequence[Finding]) -> Finding:
    """Keep what was heard and decided of the same finding."""
    for earlier in before:
        if (earlier.kind, earlier.start_s) == (finding.kind, finding.start_s):
            heard = finding.heard or earlier.heard
            return replace(finding, heard=heard, decision=earlier.decision, note=earlier.note)
    return finding
