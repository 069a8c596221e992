"""What a run of preferences tells, worded: a favourite, or none; and whether the answers agree with each other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from trainer.exercise.forms.preferring import gather_choices, list_versions, name_versions
from trainer.exercise.trial import Outcome
from trainer.listening.preference import PICKS, PICKS_NEEDED, Choice, count_wins, judge_rounds, judge_versions
from trainer.listening.statistics import odds_two_sided
from trainer.listening.triads import count_repeats, find_first_choices, measure_consistency
from trainer.session.run import Run
from trainer.units import begin_large, write_number

MOST_ODDS = 0.05
# Below so many versions even answers by lot are often free of circles.
FEWEST_FOR_CIRCLES = 6


def describe_loudness_bias(scored: Sequence[Outcome]) -> tuple[str, ...]:
    """Say how often the louder copy of one sound won."""
    chosen, count = sum(outcome.grade.score > 0.5 for outcome in scored), len(scored)
    odds = write_number(odds_two_sided(chosen, count), 2)
    return (
        f"The louder copy of one and the same sound won {chosen} of {count} times.",
        f"A coin splits as unevenly with a probability of {odds}. Half would mean no bias at all.",
        "That is why everything else here is compared at equal loudness.",
    )


def describe_preferences(run: Run, scored: Sequence[Outcome]) -> tuple[str, ...]:
    """Say which version was preferred, or that none was clearly."""
    drill = run.drill
    choices = gather_choices(drill, run.seed, [(outcome.index, outcome.answer) for outcome in scored])
    versions = len(list_versions(drill, drill.amount.start))
    return _describe_two(run, choices) if versions == 2 else _describe_several(run, choices, versions)


def _describe_two(run: Run, choices: Sequence[Choice]) -> tuple[str, ...]:
    """Judge a round of picks between the song as it is and one other version."""
    plain, other = name_versions(run.drill)
    count, chosen = len(choices), sum(choice.picked == 1 for choice in choices)
    odds = write_number(odds_two_sided(chosen, count), 2)
    first = f"You preferred {other} {chosen} of {count} times; a coin splits as unevenly with a probability of {odds}."
    if count != PICKS:
        return (first,)
    kept = judge_rounds((count - chosen,)).kept
    if kept is not None:
        return first, f"A favourite: {(plain, other)[kept]}."
    return first, f"No clear favourite: that takes {PICKS_NEEDED} of {PICKS}. Leaving it as it is, is a result too."


def _describe_several(run: Run, choices: Sequence[Choice], versions: int) -> tuple[str, ...]:
    """Judge all pairs, and how well the answers agree."""
    names, wins = name_versions(run.drill), count_wins(choices, versions)
    verdict = judge_versions(wins, np.random.default_rng(run.seed))
    won, met = wins.sum(axis=1), (wins + wins.T).sum(axis=1)
    order = verdict.strengths.order
    counts = "; ".join(f"{names[place]} {won[place]:g} of {met[place]:g}" for place in order)
    if verdict.favourite is not None:
        best = write_number(verdict.strengths.best[verdict.favourite], 2)
        first = f"A favourite: {names[verdict.favourite]}; it is the best with a probability of {best}."
    else:
        lead, second = (names[place] for place in verdict.leaders)
        times = f"{verdict.judged:g} time{'s' if verdict.judged != 1 else ''}"
        first = f"No clear favourite. {begin_large(lead)} and {second} lead; they met {times}."
    return first, f"Preferred: {counts}.", *_describe_agreement(choices, versions)


def _describe_agreement(choices: Sequence[Choice], versions: int) -> tuple[str, ...]:
    """Say whether the answers agree with each other, where there are enough to tell."""
    if versions < FEWEST_FOR_CIRCLES:
        repeats = count_repeats(choices)
        return (repeats.words,) if repeats.separates is not None else ()
    beats = find_first_choices(choices, versions)
    if any(beats[i][j] == beats[j][i] for i in range(versions) for j in range(i)):
        return ()
    found = measure_consistency(beats)
    first = f"{found.triads} of at most {found.most} circles, in which a beats b, b beats c, and c beats a."
    if found.chance <= MOST_ODDS:
        return (f"{first} That is fewer than by lot.",)
    return (f"{first} Answers by lot have as few: your ears do not separate these today.",)
