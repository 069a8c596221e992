"""Sounds that check a listening set-up: music, pink noise from either side and upside down on one; a tone."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from trainer.audio.signals import make_pink_noise, make_sine
from trainer.dsp.matching import PEAK_MARGIN_DB, PLAYED_LUFS
from trainer.dsp.moves import MOVES
from trainer.dsp.stereo.part_level import PartLevel
from trainer.exercise.drill import Drill
from trainer.exercise.forms import FORMS
from trainer.exercise.trial import TrialSpec
from trainer.measure.loudness import measure_loop_lufs
from trainer.measure.standards import CEILING_DBTP
from trainer.measure.true_peak import measure_true_peak
from trainer.units import db_to_gain

Samples = npt.NDArray[np.float32]

SIDES_UNDER_MUSIC_DB = 10.0
"""So far the noise stays below the music: never the louder one, and no reason to turn anything up."""
SIDES_LUFS = PLAYED_LUFS - SIDES_UNDER_MUSIC_DB
SIDES = ("left", "right", "middle", "hollow")
NOISE_S = 8
NOISE_DBFS = -40.0
SEED = 1
TONE_HZ, TONE_DBFS, TONE_S = 440.0, -30.0, 1.0


def specify_music(drills: Mapping[str, Drill], seed: int) -> TrialSpec | None:
    """Ask for music at the loudness at which drills play: the first version of a labelled example is the loop as it is.

    Parameters
    ----------
    drills : mapping of str to Drill
        All there are, by name.
    seed : int
        Chooses the place in the song.

    Returns
    -------
    TrialSpec or None
        None where no drill plays whatever song there is at that loudness.
    """
    drill = next((each for each in drills.values() if _plays_any_song(each)), None)
    return None if drill is None else TrialSpec(drill, seed, 0, drill.amount.demonstration, demonstration=True)


def _plays_any_song(drill: Drill) -> bool:
    """Tell whether a drill needs neither ending, part nor reference, and matches its versions in loudness."""
    moves = [MOVES[name] for name in dict.fromkeys([drill.move, *(name for name, _ in drill.moves)])]
    fits = all(move.matched and not move.at_ending and not isinstance(move, PartLevel) for move in moves)
    return fits and FORMS[drill.form].explains and not FORMS[drill.form].needs_reference


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
    middle = _make_noise(level_lufs, rate_hz)
    gains = np.array([[1.0, 0.0], [0.0, 1.0], [1.0, 1.0], [1.0, -1.0]], dtype=np.float32)
    sides: Samples = middle[np.newaxis] * gains[:, np.newaxis, :]
    return sides


def make_tone(rate_hz: int) -> Samples:
    """Make one second of 440 Hz at −30 dBFS, a whole number of periods, as a loop of shape (1, frames, 2)."""
    return make_sine(TONE_HZ, TONE_DBFS, TONE_S, rate_hz).samples[np.newaxis]


def _make_noise(level_lufs: float, rate_hz: int) -> Samples:
    """Make a loop of the same pink noise on both sides, at a loudness, or as loud as the ceiling allows."""
    noise = make_pink_noise(NOISE_DBFS, NOISE_S * rate_hz, rate_hz, np.random.default_rng(SEED)).samples
    both: Samples = np.repeat(noise[:, :1], 2, axis=1)
    room_db = CEILING_DBTP - PEAK_MARGIN_DB - measure_true_peak(both, rate_hz).dbtp
    return both * np.float32(db_to_gain(min(level_lufs - measure_loop_lufs(both, rate_hz), room_db)))
