"""A quiet test tone."""

from __future__ import annotations

import math
import time
from collections.abc import Callable

import numpy as np

from trainer.playback.feed import Now
from trainer.playback.glide import Samples
from trainer.ports import Player
from trainer.units import db_to_gain

TONE_HZ = 440
TONE_DBFS = -30.0
TONE_S = 3.0
LOOK_S = 0.05


def make_tone(rate_hz: int) -> Samples:
    """Make one second of a sine at 440 Hz and −30 dBFS, a whole number of periods.

    Parameters
    ----------
    rate_hz : int > 0
        Frames per second.

    Returns
    -------
    ndarray of float32, shape (1, rate_hz, 2)
        One version of a loop.
    """
    phase = 2.0 * math.pi * TONE_HZ * np.arange(rate_hz) / rate_hz
    sine = (db_to_gain(TONE_DBFS) * np.sin(phase)).astype(np.float32)
    return np.repeat(sine[np.newaxis, :, np.newaxis], 2, axis=2)


def play_tone(
    player: Player,
    length_s: float = TONE_S,
    now: Now = time.monotonic,
    sleep: Callable[[float], None] = time.sleep,
) -> int:
    """Play the tone, with a slow fade in and a ramp at its end.

    Parameters
    ----------
    player : Player
        Plays it; what it had loaded is replaced.
    length_s : float > 0
        How long.
    now, sleep : callable
        A monotonic clock in seconds, and a way to wait.

    Returns
    -------
    int
        Interruptions that were noticed meanwhile.
    """
    rate_hz = player.output.rate_hz
    player.load(make_tone(rate_hz), rate_hz)
    player.take_interruptions()
    player.play()
    end_s = now() + length_s
    while now() < end_s:
        sleep(LOOK_S)
        player.position()
    player.pause()
    sleep(player.output.latency_s + LOOK_S)
    return player.take_interruptions()
