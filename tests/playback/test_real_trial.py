"""A real trial on the bundled music, read from what SDL was given to play."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from trainer.exercise.drill import Drill
from trainer.exercise.trial import TrialSpec
from trainer.workshop.bench import Bench

from .children import Steps, run_to_disk
from .signals import read_loudness

pytest.importorskip("pygame")


@pytest.mark.parametrize("name", ["high_shelf_8k", "limiting"])
def test_the_versions_of_a_trial_are_heard_whole_aligned_and_equally_loud(
    name: str, bench: Bench, drills: dict[str, Drill], tmp_path: Path
) -> None:
    """Each version's loop stands in the captured sound bit by bit; libebur128 reads them within 0.05 LU.

    Every frame of the capture is, at its place in the loop, a mixture of the versions with weights of 0 to 1, and a
    switch is a mixture for 10 ms: so nothing jumps, is lost or clicks.
    """
    trial = bench.make(TrialSpec(drills[name], 12, 0, drills[name].amount.start))
    versions, frames = trial.sounds[:-1], trial.sounds.shape[1]
    steps: Steps = [["load"], ["play"], ["wait_written", 3 * frames]]
    for number in (1, 2):
        steps += [["select", number], ["wait_written", 3 * frames]]
    _, sound = run_to_disk(tmp_path, steps, trial.sounds, trial.rate_hz)
    loudness = []
    for version in versions:
        starts = find_loop(sound, version)
        assert len(starts) >= 1
        loudness.append(read_loudness(np.tile(sound[starts[0] : starts[0] + frames], (4, 1)), trial.rate_hz))
    assert max(loudness) - min(loudness) < 0.05
    first = find_loop(sound, versions[0])[0]
    heard = sound[first : np.flatnonzero(sound.any(axis=1))[-1] - trial.rate_hz // 10]
    place = np.arange(heard.shape[0]) % frames
    low, high = versions.min(axis=0)[place], versions.max(axis=0)[place]
    assert float(np.maximum(low - heard, heard - high).max()) < 1e-6
    mixed = sum(~(heard == version[place]).all(axis=1) for version in versions) == len(versions)
    fade = round(0.01 * trial.rate_hz)
    audible = sum(not np.array_equal(a, b) for a, b in pairwise(versions))
    assert 0.95 * audible * fade < int(mixed.sum()) <= audible * (fade + 1)


def find_loop(sound: np.ndarray, version: np.ndarray) -> list[int]:
    """Find where a whole loop stands in a capture, bit by bit."""
    head = version[:4096, 0]
    starts = np.flatnonzero(sound[: sound.shape[0] - version.shape[0] + 1, 0] == head[0])
    near = [s for s in starts.tolist() if np.array_equal(sound[s : s + head.size, 0], head)]
    return [s for s in near if np.array_equal(sound[s : s + version.shape[0]], version)]
