"""Findings of one kind put together: which, how they are told, and what is decided of all (by construction)."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.decisions.finding_groups import (
    APART_S,
    FindingGroup,
    arrange_findings,
    decide_group,
    group_findings,
    tell_group,
    tell_open,
    tell_others,
    write_strength,
)
from trainer.decisions.marks import merge_marks
from trainer.decisions.sheet import DECISIONS, Finding
from trainer.decisions.sheet_words import word_findings
from trainer.decisions.song_edges import SongEdges

EDGES = SongEdges(0.5, None, -18.0, 200.0, 210.0, -90.0, 30.0)


def make_runs(count: int = 144, first_s: float = 12.0, apart_s: float = 1.4, **changes: object) -> tuple[Finding, ...]:
    """Make clipped runs at even distances, each a sample longer than the one before up to 60, then from 4 again."""
    run = Finding("clipped_run", first_s, first_s + 0.001, measured=True, unit="samples")
    starts = ((n, run.start_s + n * apart_s) for n in range(count))
    runs = (replace(run, start_s=at_s, end_s=at_s + 0.001, strength=4.0 + n % 57) for n, at_s in starts)
    return tuple(replace(each, **changes) for each in runs)  # type: ignore[arg-type]


CLICK = Finding("click", 41.2, 41.2, measured=True, strength=14.0, unit="dB")


def test_more_than_three_of_a_kind_are_one() -> None:
    """Three clicks stay three; a fourth makes them one, where the first stands; what is between keeps its place."""
    clicks = tuple(replace(CLICK, start_s=at_s, end_s=at_s) for at_s in (20.0, 40.0, 60.0, 80.0))
    pop = Finding("pop", 30.0, 30.1, measured=True, strength=9.0, unit="dB")
    three = tuple(sorted((*clicks[:3], pop), key=lambda each: each.start_s))
    assert group_findings(three, EDGES) == () and len(arrange_findings(three, EDGES)) == 4
    four = tuple(sorted((*clicks, pop), key=lambda each: each.start_s))
    held = arrange_findings(four, EDGES)
    assert [place for place, _ in held] == [0, 1] and held[1][1] == pop
    group = held[0][1]
    assert isinstance(group, FindingGroup) and group.findings == clicks and group.places == (0, 2, 3, 4)


def test_what_was_heard_decided_alone_or_lies_at_an_end_stays_apart() -> None:
    """One heard, one decided by itself, one before the music: none is in the group, and each is told as it was."""
    runs = make_runs(10, 20.0)
    heard, alone, early = (
        replace(runs[2], heard=True), replace(runs[5], decision="mix"), replace(runs[0], start_s=0.1, end_s=0.2),
    )  # fmt: skip
    findings = (early, runs[1], heard, runs[3], runs[4], alone, *runs[6:])
    (group,) = group_findings(findings, EDGES)
    assert group.places == (1, 3, 4, 6, 7, 8, 9)
    decided = decide_group(findings, "clipped_run", "keep", EDGES)
    assert [each.decision for each in decided] == [
        "open", "keep", "open", "keep", "keep", "mix", "keep", "keep", "keep", "keep",
    ]  # fmt: skip
    (again,) = group_findings(decided, EDGES)
    assert again.places == group.places and again.decision == "keep"
    changed = decide_group(decided, "clipped_run", "mix", EDGES)
    assert [each.decision for each in changed].count("mix") == 8 and changed[5] == alone
    assert len(arrange_findings(changed, EDGES)) == 4


def test_the_strongest_come_first_each_at_a_place_of_its_own() -> None:
    """Three within a second are one place, told with their number; two that lie 4 s apart are two."""
    levels = ((10.0, 9.0), (10.4, 30.0), (10.9, 28.0), (14.4, 12.0), (50.0, 20.0), (90.0, 5.0), (91.0, 5.0))
    clicks = tuple(Finding("click", at_s, at_s, False, True, level, "dB") for at_s, level in levels)
    (group,) = group_findings(clicks, EDGES)
    assert group.strongest == clicks[1]
    assert group.name_strongest() == ((1, 3), (4, 1), (3, 1), (5, 2))
    assert group.name_strongest(2) == ((1, 3), (4, 1))
    assert tell_others(group) == "3 more, 5.0 to 28.0 dB."


def test_a_group_is_told_in_one_line() -> None:
    """From 12.0 s, 143 times 1.4 s later, 212.2 s, is 3:32; the longest, of 60 samples, is the 57th, at 90.4 s."""
    (group,) = group_findings(make_runs())
    assert tell_group(group) == "144 clipped runs, 0:12 to 3:32; the strongest at 1:30, 60 samples"
    assert word_findings(make_runs()) == (
        ("144 clipped runs, 0:12 to 3:32; the strongest at 1:30, 60 samples, measured", "open"),
    )
    (near,) = group_findings(make_runs(5, 12.0, 0.01, strength=None, unit=""))
    assert tell_group(near) == "5 clipped runs, at 0:12; the strongest at 0:12" and tell_others(near) == "4 more."
    assert write_strength(CLICK) == "14.0 dB" and write_strength(replace(CLICK, strength=None)) == ""


def test_what_is_open_is_counted_in_kinds() -> None:
    """144 runs and five clicks are two kinds; one pop is a finding; what is decided is not open."""
    clicks = tuple(replace(CLICK, start_s=20.0 + n, end_s=20.0 + n) for n in range(5))
    pop = Finding("pop", 30.0, 30.1, measured=True)
    kinds = "2 kinds are undecided of what was measured: 144 clipped runs, 5 clicks."
    runs = make_runs()
    assert tell_open((*runs, *clicks)) == (kinds,)
    assert tell_open((*runs, *clicks, pop)) == ("1 finding of the pass is undecided.", kinds)
    decided = decide_group((*runs, *clicks), "clipped_run", "keep")
    assert tell_open(decided) == ("1 kind is undecided of what was measured: 5 clicks.",)
    assert tell_open(decide_group(decided, "click", "mix")) == () == tell_open(())


def test_a_second_pass_keeps_what_was_decided_of_a_kind() -> None:
    """Measured again, all keep the decision of their kind; one that is heard now is told by itself, and keeps it."""
    decided = decide_group(make_runs(10, 20.0), "clipped_run", "keep", EDGES)
    merged = merge_marks(make_runs(10, 20.0), ((20.1, "distortion"),), decided)
    assert [each.decision for each in merged] == ["keep"] * 10
    (group,) = group_findings(merged, EDGES)
    assert len(group.findings) == 9 and merged[0].heard and 0 not in group.places


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.builds(
            Finding,
            st.sampled_from(("click", "pop", "noise")),
            st.floats(0, 100),
            st.just(100.0),
            st.booleans(),
            st.booleans(),
            st.none() | st.floats(-60, 60),
            st.just("dB"),
            st.sampled_from(DECISIONS),
            st.just(""),
            st.booleans(),
        ),
        max_size=30,
    )
)
def test_every_finding_is_told_once(findings: list[Finding]) -> None:
    """Whatever there is, each finding stands in one row; named places are 4 s apart; all others are counted."""
    held = arrange_findings(findings, EDGES)
    told = [place for first, each in held for place in (each.places if isinstance(each, FindingGroup) else (first,))]
    assert sorted(told) == list(range(len(findings)))
    for _, group in held:
        if not isinstance(group, FindingGroup):
            continue
        named = [group.findings[place].start_s for place, _ in group.name_strongest()]
        assert all(abs(a - b) >= APART_S for n, a in enumerate(named) for b in named[:n])
        others = len(group.findings) - len(named)
        assert tell_others(group).startswith({0: "", 1: "One more"}.get(others, f"{others} more"))


@pytest.mark.parametrize("kind", ["clipped_run", "pop"])
def test_only_the_kind_that_was_meant_is_decided(kind: str) -> None:
    """A group of another kind, and a kind without a group, are left as they are."""
    findings = (*make_runs(6), Finding("pop", 90.0, 90.1, measured=True))
    decided = decide_group(findings, kind, "mix")
    assert [each.decision for each in decided] == (["mix"] * 6 + ["open"] if kind == "clipped_run" else ["open"] * 7)
