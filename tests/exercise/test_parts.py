"""A part of the mix against the master's means: voice and bass, turned by what was asked."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from trainer.exercise.drill import Choice, Drill
from trainer.exercise.trial import TrialSpec
from trainer.workshop.bench import Bench


@pytest.mark.parametrize("title", ["Nine Lanterns", "Quarter Past"])
@pytest.mark.parametrize("part", ["voice", "bass"])
@pytest.mark.parametrize("amount", [2.0, 6.0])
def test_a_part_is_turned_by_what_was_asked(
    part: str, title: str, amount: float, bench: Bench, drills: dict[str, Drill]
) -> None:
    """The difference of the versions, levels aside, is the stem itself, by closed form (10**(dB/20) - 1) of it.

    It is recomputed here from the song's files: mix and stem of the same place, scaled to the version as it is.
    """
    choices = tuple(
        Choice(answer, answer, move, settings)
        for answer, move, settings in (("part", f"{part}_level", {}), ("shelf", "low_shelf", {"corner_hz": 200.0}))
    )
    plain = drills["high_shelf_8k"]
    drill = replace(plain, form="name_it", move=f"{part}_level", settings={}, choices=choices)
    trials = (bench.make(TrialSpec(drill, seed, 0, amount)) for seed in range(20))
    trial = next(each for each in trials if each.right_answer == "part" and each.song.title.startswith(title))
    assert trial.effect.amount == pytest.approx(amount, abs=0.05)
    song = next(song for song in bench.songs() if song.sha256 == trial.sha256)
    first = round(trial.excerpt.start_s * trial.rate_hz)
    inside = slice(first + 4000, first + 100000)
    mix, stem = (clip.samples[inside].astype(np.float64) for clip in (song.clip, song.parts[part]))
    wished = mix + (10 ** (amount / 20) - 1) * stem
    made = trial.sounds[1][4000:100000].astype(np.float64)
    scale = float((made * wished).sum() / (wished * wished).sum())
    rest = float(np.sqrt(np.mean((made - scale * wished) ** 2) / np.mean(made**2)))
    assert 20 * np.log10(rest) < -80
