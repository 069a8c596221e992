"""Fades: how a sound rises from nothing and falls to it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from trainer.audio.clip import Clip
from trainer.errors import BadValue

CURVES = ("raised_cosine", "linear", "equal_power")


def make_rise(frames: int, curve: str = "raised_cosine") -> npt.NDArray[np.float64]:
    """Make gains that rise from 0 to 1, shape (frames,), symmetric about the middle of the frames.

    Parameters
    ----------
    frames : int
        Length, 0 or more.
    curve : str
        ``raised_cosine`` and ``linear`` sum to 1 with their own reverse, ``equal_power`` in the squares.

    Raises
    ------
    BadValue
        If there is no such curve.
    """
    if curve not in CURVES:
        raise BadValue("fade", "curve", curve, f"one of {', '.join(CURVES)}")
    part = (np.arange(frames) + 0.5) / max(frames, 1)
    if curve == "linear":
        return part
    if curve == "equal_power":
        return np.asarray(np.sin(np.pi / 2 * part))
    return np.asarray(0.5 - 0.5 * np.cos(np.pi * part))


def fade_clip(
    clip: Clip,
    fade_in_s: float,
    fade_out_s: float,
    curve_in: str = "raised_cosine",
    curve_out: str = "raised_cosine",
) -> Clip:
    """Fade a clip in at its head and out at its tail.

    Parameters
    ----------
    clip : Clip
        The sound.
    fade_in_s, fade_out_s : float
        Lengths, s, 0 or more, together not longer than the clip.
    curve_in, curve_out : str
        See `make_rise`.

    Returns
    -------
    Clip
        Same length; untouched between the fades.

    Raises
    ------
    BadValue
        If the fades do not fit.
    """
    if not (fade_in_s >= 0 and fade_out_s >= 0 and fade_in_s + fade_out_s <= clip.duration_s):
        length = f"{clip.duration_s:.3f} s, the clip's length, at most in all"
        raise BadValue("fade", "fades_s", f"{fade_in_s:g} and {fade_out_s:g}", length)
    samples = clip.samples.astype(np.float64)
    head, tail = round(fade_in_s * clip.rate_hz), round(fade_out_s * clip.rate_hz)
    samples[:head] *= make_rise(head, curve_in)[:, None]
    samples[clip.frames - tail :] *= make_rise(tail, curve_out)[::-1, None]
    return clip.with_samples(samples)
