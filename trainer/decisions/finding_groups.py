"""Findings of one kind that nobody heard and that are many: told as one, and decided as one."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from trainer.decisions.marks import find_edge
from trainer.decisions.reasons import FAULT_NAMES, NAMES
from trainer.decisions.sheet import Decision, Finding
from trainer.decisions.song_edges import SongEdges
from trainer.units import write_number, write_time

# So many of one kind are still told each by itself; and so many of the strongest are named of more.
MOST_ALONE, MOST_NAMED = 3, 5
# Two places so far apart are heard as two.
APART_S = 4.0
# What lasts longer is told with its end.
LASTING_S = 1.0
# What is counted, or read in whole steps, has no decimals.
WHOLE_UNITS = ("samples", "ms")


@dataclass(frozen=True)
class FindingGroup:
    """Hold findings of one kind that are told and decided together.

    Parameters
    ----------
    kind : str
        As the fault scan names it.
    places : tuple of int
        Where they stand among all findings, from 0.
    findings : tuple of Finding
        These, in the order of the song.
    """

    kind: str
    places: tuple[int, ...]
    findings: tuple[Finding, ...]

    @property
    def decision(self) -> Decision:
        """What was decided of all of them; ``open`` while that of one is."""
        decisions = {finding.decision for finding in self.findings}
        return decisions.pop() if len(decisions) == 1 else "open"

    @property
    def strongest(self) -> Finding:
        """The first of the strongest."""
        return max(self.findings, key=_weigh)

    def name_strongest(self, most: int = MOST_NAMED) -> tuple[tuple[int, int], ...]:
        """Name the strongest, each at a place of its own.

        Parameters
        ----------
        most : int
            How many places, 1 or more.

        Returns
        -------
        tuple of (int, int)
            Where each stands among ``findings``, the strongest first, and how many of them lie within 2 s of it, itself
            counted. Any two are 4 s apart or more.
        """
        order = sorted(range(len(self.findings)), key=lambda place: -_weigh(self.findings[place]))
        chosen: list[int] = []
        for place in order:
            start_s = self.findings[place].start_s
            if all(abs(start_s - self.findings[other].start_s) >= APART_S for other in chosen):
                chosen.append(place)
            if len(chosen) == most:
                break
        return tuple((place, self._count_near(place)) for place in chosen)

    def _count_near(self, place: int) -> int:
        at_s = self.findings[place].start_s
        return sum(abs(each.start_s - at_s) <= APART_S / 2 for each in self.findings)


def group_findings(findings: Sequence[Finding], edges: SongEdges | None = None) -> tuple[FindingGroup, ...]:
    """Put together what was only measured, where there are more than three of a kind.

    Parameters
    ----------
    findings : sequence of Finding
        All there are.
    edges : SongEdges, optional
        Where the ends of the song are: what a fade can reach stays by itself. Without them that is what a fade took.

    Returns
    -------
    tuple of FindingGroup
        In the order in which the kinds begin in the song. What was heard, and what was decided by itself, is in none.
    """
    places: dict[str, list[int]] = {}
    for place, finding in enumerate(findings):
        if _may_join(finding, edges):
            places.setdefault(finding.kind, []).append(place)
    return tuple(
        FindingGroup(kind, tuple(held), tuple(findings[place] for place in held))
        for kind, held in places.items()
        if len(held) > MOST_ALONE
    )


def arrange_findings(
    findings: Sequence[Finding], edges: SongEdges | None = None
) -> tuple[tuple[int, Finding | FindingGroup], ...]:
    """Arrange findings as they are told: each by itself, or with its kind where the first of that kind stands.

    Returns
    -------
    tuple of (int, Finding or FindingGroup)
        Each with the place among all findings at which it stands.
    """
    groups = {place: group for group in group_findings(findings, edges) for place in group.places}
    return tuple(
        (place, groups.get(place, finding))
        for place, finding in enumerate(findings)
        if place not in groups or place == groups[place].places[0]
    )


def decide_group(
    findings: Sequence[Finding], kind: str, decision: Decision, edges: SongEdges | None = None
) -> tuple[Finding, ...]:
    """Decide on all of a kind that are told together; what was decided by itself keeps its decision."""
    held = {place for group in group_findings(findings, edges) if group.kind == kind for place in group.places}
    return tuple(
        replace(finding, decision=decision, together=True) if place in held else finding
        for place, finding in enumerate(findings)
    )


def tell_group(group: FindingGroup) -> str:
    """Say how many there are of a kind, from where to where, and where the strongest is."""
    strength = write_strength(group.strongest)
    where = f"{write_time(group.strongest.start_s)}{', ' + strength if strength else ''}"
    return f"{place_group(group)}; the strongest at {where}"


def place_group(group: FindingGroup) -> str:
    """Say how many there are of a kind, and from where to where."""
    ends_s = max(finding.end_s for finding in group.findings)
    first, last = (write_time(time_s) for time_s in (group.findings[0].start_s, ends_s))
    return f"{count_group(group)}, {f'at {first}' if first == last else f'{first} to {last}'}"


def count_group(group: FindingGroup) -> str:
    """Say how many there are of a kind."""
    return f"{len(group.findings)} {NAMES.get(group.kind, FAULT_NAMES.get(group.kind, group.kind))}"


def tell_others(group: FindingGroup) -> str:
    """Say how many of a kind are not named, and how strong these are; nothing where all are."""
    named = {place for place, _ in group.name_strongest()}
    others = [each for place, each in enumerate(group.findings) if place not in named]
    if not others:
        return ""
    weakest, strongest = min(others, key=_weigh), max(others, key=_weigh)
    count = f"{len(others)} more" if len(others) > 1 else "One more"
    if weakest.strength is None or strongest.strength is None:
        return f"{count}."
    low, high = write_strength(weakest), write_strength(strongest)
    return f"{count}, {low}." if low == high else f"{count}, {low.removesuffix(f' {weakest.unit}')} to {high}."


def tell_open(findings: Sequence[Finding], edges: SongEdges | None = None) -> tuple[str, ...]:
    """Say what of the pass has not been decided: findings by themselves, and kinds."""
    held = [each for _, each in arrange_findings(findings, edges) if each.decision == "open"]
    kinds = [count_group(each) for each in held if isinstance(each, FindingGroup)]
    alone = len(held) - len(kinds)
    return tuple(_word_open(alone, kinds))


def write_strength(finding: Finding) -> str:
    """Write how strong something is; nothing where that was not measured."""
    if finding.strength is None:
        return ""
    return f"{write_number(finding.strength, 0 if finding.unit in WHOLE_UNITS else 1)} {finding.unit}".rstrip()


def write_place(finding: Finding) -> str:
    """Write where something is: `` at 0:41``, or ``, 0:41 to 1:12`` where it lasts."""
    start, end = write_time(finding.start_s), write_time(finding.end_s)
    return f", {start} to {end}" if finding.end_s - finding.start_s > LASTING_S else f" at {start}"


def _word_open(alone: int, kinds: Sequence[str]) -> Iterator[str]:
    if alone:
        yield f"{alone} finding{'' if alone == 1 else 's'} of the pass {'is' if alone == 1 else 'are'} undecided."
    if kinds:
        counted = "1 kind is" if len(kinds) == 1 else f"{len(kinds)} kinds are"
        yield f"{counted} undecided of what was measured: {', '.join(kinds)}."


def _may_join(finding: Finding, edges: SongEdges | None) -> bool:
    """Tell whether a finding may be told with others: only measured, not decided by itself, out of a fade's reach."""
    if finding.heard or not finding.measured or (finding.decision != "open" and not finding.together):
        return False
    return edges is None or find_edge(finding, edges) is None


def _weigh(finding: Finding) -> float:
    return -math.inf if finding.strength is None else finding.strength
