"""Pushed to a loudness: read by libebur128, and told where it cannot be had."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest

from tests.measure.meters import ebur128_dbtp, ebur128_lufs
from tests.measure.sounds import music_like
from trainer.audio.clip import Clip
from trainer.dsp.dynamics.push import Push
from trainer.errors import BadValue, NotReachable
from trainer.measure.loudness import measure_integrated_lufs

MOVE = Push()
RATE_HZ = 48000
NO_CLIPPER = {"clip_over_db": 90.0}


@lru_cache(maxsize=1)
def _song() -> Clip:
    """Twelve seconds, the first four of them 8 dB softer, at about −18 LUFS."""
    samples = music_like(12 * RATE_HZ, RATE_HZ, 3).copy()
    samples[: 4 * RATE_HZ] *= 0.4
    samples *= 10 ** ((-18.0 - measure_integrated_lufs(samples, RATE_HZ)) / 20)
    return MOVE.prepare(Clip(samples.astype(np.float32), RATE_HZ))


@pytest.mark.parametrize(("loudness_lufs", "settings", "renders"), [(-14.0, NO_CLIPPER, 2), (-9.0, {}, 5)])
def test_a_whole_song_has_the_asked_loudness(loudness_lufs: float, settings: dict[str, float], renders: int) -> None:
    """Independent meter: libebur128. Within 0.02 LU, under the ceiling, in few renderings."""
    driven = MOVE.solve_song(_song(), loudness_lufs, settings)
    assert driven.reached and driven.renders <= renders
    assert ebur128_lufs(driven.clip.samples, RATE_HZ) == pytest.approx(loudness_lufs, abs=0.02)
    assert ebur128_dbtp(driven.clip.samples, RATE_HZ) <= -1.0


def test_a_limiter_alone_comes_to_an_end_and_says_so() -> None:
    """Loudness saturates with the drive: what cannot be had is reported with the most that can."""
    driven = MOVE.solve_song(_song(), -3.0, NO_CLIPPER)
    assert not driven.reached and driven.loudness_lufs < -4.0
    assert ebur128_lufs(driven.clip.samples, RATE_HZ) == pytest.approx(driven.loudness_lufs, abs=0.02)
    loop = Clip(_song().samples[6 * RATE_HZ : 10 * RATE_HZ].copy(), RATE_HZ)
    with pytest.raises(NotReachable, match=r"push: amount=20, expected at most \d+\.\d LU"):
        MOVE.solve(loop, 20.0, NO_CLIPPER)


def test_a_loop_is_louder_by_what_was_asked_and_by_nothing_for_nothing() -> None:
    """Read with libebur128 over several rounds; at 0 LU the loop comes back bit for bit."""
    loop = Clip(_song().samples[6 * RATE_HZ : 10 * RATE_HZ].copy(), RATE_HZ)
    pushed = MOVE.render(loop, MOVE.solve(loop, 5.0, {}))
    was, became = (ebur128_lufs(np.tile(clip.samples, (6, 1)), RATE_HZ) for clip in (loop, pushed))
    assert became - was == pytest.approx(5.0, abs=0.05)
    effect = MOVE.measure(loop, pushed, MOVE.solve(loop, 5.0, {}))
    assert effect.amount == pytest.approx(5.0, abs=0.02)
    quiet = loop.with_samples(loop.samples * 0.25)
    np.testing.assert_array_equal(MOVE.render(quiet, MOVE.solve(quiet, 0.0, {})).samples, quiet.samples)


def test_silence_is_refused() -> None:
    """One line, as for every move."""
    with pytest.raises(BadValue):
        MOVE.solve(Clip(np.zeros((8000, 2), np.float32), RATE_HZ), 3.0, {})
