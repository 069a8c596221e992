"""Short soft notes over whatever plays."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.errors import BadValue
from trainer.playback.glide import Samples
from trainer.playback.reel import SUB_BLOCK
from trainer.units import db_to_gain

Curve = npt.NDArray[np.float64]

NOTE_DBFS = -30.0
NOTE_S, RAMP_S, APART_S = 0.08, 0.02, 0.04
CEILING_DBTP = -1.0


@dataclass(frozen=True)
class Notes:
    """Hold notes, drawn for one rate.

    Parameters
    ----------
    added : ndarray of float32, shape (frames + SUB_BLOCK, 2)
        What is added, followed by zeros.
    left : ndarray of float32, shape (frames + SUB_BLOCK, 2)
        The factor for what plays meanwhile, followed by ones.
    """

    added: Samples
    left: Samples

    @property
    def frames(self) -> int:
        """Give the length without what follows."""
        return len(self.added) - SUB_BLOCK


def draw_notes(notes_hz: Sequence[float], rate_hz: int) -> Notes:
    """Draw sines at −30 dBFS of 80 ms each, 20 ms of them ramps at either end, 40 ms apart.

    What plays meanwhile is turned down by 0.3 dB, by the same ramps, which makes room: where it keeps to −1 dBTP, so
    does the sum, since ``c (1 − e n / c) + e n = c`` for a ceiling c, a note's amplitude n and a ramp e of 0 to 1.

    Parameters
    ----------
    notes_hz : sequence of float
        One frequency or more, above 0 and below half the rate.
    rate_hz : int > 0
        Frames per second.

    Returns
    -------
    Notes
        For both channels alike.

    Raises
    ------
    BadValue
        If there is none, or one cannot be played at this rate.
    """
    if not notes_hz or not all(0 < hz < rate_hz / 2 for hz in notes_hz):
        raise BadValue("notes", "notes_hz", tuple(notes_hz), f"one or more above 0 and below {rate_hz / 2:g}")
    amplitude = db_to_gain(NOTE_DBFS)
    envelope = _draw_envelope(rate_hz)
    pause = round(APART_S * rate_hz)
    frames = len(notes_hz) * (len(envelope) + pause) - pause
    sound, level = np.zeros(frames), np.zeros(frames)
    for place, hz in enumerate(notes_hz):
        start = place * (len(envelope) + pause)
        time_s = np.arange(len(envelope)) / rate_hz
        sound[start : start + len(envelope)] = amplitude * envelope * np.sin(2 * math.pi * hz * time_s)
        level[start : start + len(envelope)] = envelope
    left = 1.0 - amplitude / db_to_gain(CEILING_DBTP) * level
    return Notes(_lay_out(sound, 0.0), _lay_out(left, 1.0))


def _draw_envelope(rate_hz: int) -> Curve:
    """Draw the level of one note: a raised cosine up, a hold, and the same down."""
    frames, ramp = round(NOTE_S * rate_hz), max(1, round(RAMP_S * rate_hz))
    rise = 0.5 - 0.5 * np.cos(math.pi * np.arange(ramp) / ramp)
    return np.concatenate([rise, np.ones(frames - 2 * ramp), rise[::-1]])


def _lay_out(curve: Curve, after: float) -> Samples:
    """Give both channels the same curve, followed by a value so that a part may reach past the end."""
    longer = np.concatenate([curve, np.full(SUB_BLOCK, after)]).astype(np.float32)
    return np.ascontiguousarray(np.repeat(longer[:, np.newaxis], 2, axis=1))


class Bell:
    """Add notes to finished blocks: one side asks for them, the other adds; neither waits."""

    def __init__(self) -> None:
        self._wished: Notes | None = None
        self._taken: Notes | None = None
        self._age = 0

    @property
    def ringing(self) -> bool:
        """Tell whether notes are heard, or will be in the next block."""
        wished, taken = self._wished, self._taken
        return wished is not taken or (taken is not None and self._age < taken.frames)

    def strike(self, notes: Notes) -> None:
        """Sound notes from the next block on, or after those that sound now."""
        self._wished = notes

    def add(self, block: Samples) -> None:
        """Add what sounds now to a block of shape (frames, 2)."""
        done = 0
        while done < len(block):
            taken = self._taken
            if taken is None or self._age >= taken.frames:
                if self._wished is taken:
                    return
                self._taken = taken = self._wished
                self._age = 0
            if taken is None:
                return
            part = block[done : done + SUB_BLOCK]
            stop = self._age + len(part)
            part *= taken.left[self._age : stop]
            part += taken.added[self._age : stop]
            self._age, done = stop, done + len(part)
