"""Sounds that check a listening set-up: pink noise from both sides, from either, and upside down on one; a tone."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from trainer.audio.signals import make_pink_noise, make_sine
from trainer.dsp.matching import PEAK_MARGIN_DB, PLAYED_LUFS
from trainer.measure.loudness import measure_loop_lufs
from trainer.measure.standards import CEILING_DBTP
from trainer.measure.true_peak import measure_true_peak
from trainer.units import db_to_gain

Samples = npt.NDArray[np.float32]

LEVELS_LUFS = (-40.0, -35.0, -30.0, -25.0, PLAYED_LUFS)
"""From very quiet to the loudness at which drills play."""
SIDES = ("left", "right", "middle", "hollow")
NOISE_S = 8
NOISE_DBFS = -40.0
SEED = 1
TONE_HZ, TONE_DBFS, TONE_S = 440.0, -30.0, 1.0


def make_levels(rate_hz: int) -> Samples:
    """Make pink noise from the middle at every level of `LEVELS_LUFS`, as loops.

    Parameters
    ----------
    rate_hz : int
        Frames per second.

    Returns
    -------
    ndarray of float32, shape (5, frames, 2)
        The quietest first; none over −1 dBTP.
    """
    return _make_noise(LEVELS_LUFS, rate_hz)


def make_sides(level_lufs: float, rate_hz: int) -> Samples:
    """Make pink noise from the left, from the right, from the middle, and with the right side upside down, as loops.

    Parameters
    ----------
    level_lufs : float
        Loudness of the noise from the middle; one side alone has half of its power.
    rate_hz : int
        Frames per second.

    Returns
    -------
    ndarray of float32, shape (4, frames, 2)
        In the order of `SIDES`; none over −1 dBTP.
    """
    (middle,) = _make_noise((level_lufs,), rate_hz)
    gains = np.array([[1.0, 0.0], [0.0, 1.0], [1.0, 1.0], [1.0, -1.0]], dtype=np.float32)
    sides: Samples = middle[np.newaxis] * gains[:, np.newaxis, :]
    return sides


def make_tone(rate_hz: int) -> Samples:
    """Make one second of 440 Hz at −30 dBFS, a whole number of periods, as a loop of shape (1, frames, 2)."""
    return make_sine(TONE_HZ, TONE_DBFS, TONE_S, rate_hz).samples[np.newaxis]


def _make_noise(levels_lufs: Sequence[float], rate_hz: int) -> Samples:
    """Make loops of the same pink noise on both sides, at each loudness, or as loud as the ceiling allows."""
    noise = make_pink_noise(NOISE_DBFS, NOISE_S * rate_hz, rate_hz, np.random.default_rng(SEED)).samples
    both = np.repeat(noise[:, :1], 2, axis=1)
    room_db = CEILING_DBTP - PEAK_MARGIN_DB - measure_true_peak(both, rate_hz).dbtp
    loudness_lufs = measure_loop_lufs(both, rate_hz)
    gains = [np.float32(db_to_gain(min(level_lufs - loudness_lufs, room_db))) for level_lufs in levels_lufs]
    return np.stack([both * gain for gain in gains])
