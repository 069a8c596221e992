"""A fault put into a clip: where, on which side and how strong, so that a mark or a scan can be judged by it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from trainer.audio.clip import Clip
from trainer.errors import BadValue

Wave = npt.NDArray[np.float64]

SIDES: dict[str, tuple[int, ...]] = {"left": (0,), "right": (1,), "both": (0, 1)}


@dataclass(frozen=True)
class Planted:
    """Hold a clip with a fault in it.

    Parameters
    ----------
    clip : Clip
        The sound with the fault; as long as before, unless said otherwise.
    fault : str
        Its kind: the name of the move.
    place_s, length_s : float
        Where it begins and how long it lasts, s; both read from what was changed.
    channel : str
        ``left``, ``right`` or ``both``.
    strength : float
        How strong it is, read from the sound.
    unit : str
        Unit of the strength.
    """

    clip: Clip
    fault: str
    place_s: float
    length_s: float
    channel: str
    strength: float
    unit: str

    def with_clip(self, clip: Clip) -> Planted:
        """Give the same entry with another clip, into which further faults may have been planted."""
        return replace(self, clip=clip)


def find_frame(clip: Clip, at_s: float, fault: str) -> int:
    """Find the frame of a place.

    Raises
    ------
    BadValue
        If it does not lie inside the clip.
    """
    if not 0 <= at_s < clip.duration_s:
        raise BadValue(fault, "at_s", f"{at_s:g}", f"0 to less than {clip.duration_s:.3f}, the clip's length")
    return min(int(round(at_s * clip.rate_hz)), clip.frames - 1)


def list_sides(channel: str, fault: str) -> tuple[int, ...]:
    """List the columns of a channel's name.

    Raises
    ------
    BadValue
        If there is no such channel.
    """
    if channel not in SIDES:
        raise BadValue(fault, "channel", channel, f"one of {', '.join(SIDES)}")
    return SIDES[channel]


def add_wave(clip: Clip, wave: Wave, first: int, sides: tuple[int, ...]) -> Clip:
    """Add a wave, shape (frames,), to some sides from a frame on; what lies outside the clip is left out."""
    samples = clip.samples.astype(np.float64)
    start, stop = max(0, first), min(clip.frames, first + wave.size)
    for side in sides:
        samples[start:stop, side] += wave[start - first : stop - first]
    return clip.with_samples(samples)


def require_sound(clip: Clip, fault: str) -> None:
    """Refuse silence, against which nothing has a strength.

    Raises
    ------
    BadValue
        If every sample is 0.
    """
    if not clip.samples.any():
        raise BadValue(fault, "sound", "silence", "a sound to plant the fault in")
