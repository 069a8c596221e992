"""Loops: cut with the seam baked in, and processed as if they had been running for ever."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from trainer.audio.clip import Clip, Samples
from trainer.errors import BadValue

SEAM_S = 0.02
SHORTEST_LOOP_S = 4.0
LONGEST_LOOP_S = 20.0


def cut_loop(clip: Clip, start_frame: int, frames: int, seam_s: float = SEAM_S) -> Clip:
    """Cut a loop whose end leads into its beginning without a step.

    The last ``seam_s`` fade, with raised-cosine gains that sum to 1, into the sound just before the loop's start,
    so that the jump back goes on with what was there. Where the clip begins less than a seam before the loop, the
    seam is as long as what there is.

    Parameters
    ----------
    clip : Clip
        The song.
    start_frame, frames : int
        Place and length; the whole loop lies inside the clip.
    seam_s : float
        Length of the seam, s.

    Returns
    -------
    Clip
        The loop, ``frames`` long.

    Raises
    ------
    BadValue
        If the loop does not lie inside the clip.
    """
    if start_frame < 0 or frames < 1 or start_frame + frames > clip.frames:
        raise BadValue("loop", "end_frame", start_frame + frames, f"0 to {clip.frames}, the clip's length")
    samples = clip.samples[start_frame : start_frame + frames].astype(np.float64)
    seam = min(int(round(seam_s * clip.rate_hz)), start_frame, frames)
    if seam > 0:
        rise = 0.5 - 0.5 * np.cos(np.pi * (np.arange(seam) + 0.5) / seam)
        before = clip.samples[start_frame - seam : start_frame]
        samples[-seam:] = samples[-seam:] * (1 - rise)[:, None] + before * rise[:, None]
    return clip.with_samples(samples)


def extend_loop(samples: npt.NDArray[np.floating], before: int, after: int, axis: int = 0) -> npt.NDArray[np.floating]:
    """Repeat a loop's tail before it and its head behind it.

    Parameters
    ----------
    samples : ndarray
        One round of the loop.
    before, after : int
        Frames to add on either side, 0 or more, longer than the loop if wished.
    axis : int
        Along which time runs.

    Returns
    -------
    ndarray
        Longer by both along that axis.
    """
    frames = samples.shape[axis]
    lead, rest = before % frames, after % frames
    rounds = before // frames + 1 + after // frames
    first, last = np.split(samples, [rest], axis)[0], np.split(samples, [frames - lead], axis)[1]
    return np.concatenate([last, *[samples] * rounds, first], axis)


def process_in_steady_state(
    process: Callable[[Samples], npt.NDArray[np.floating]],
    samples: Samples,
    before_frames: int,
    after_frames: int = 0,
) -> npt.NDArray[np.floating]:
    """Process a loop with its own tail as run-up, so that its first notes sound as in every later round.

    Parameters
    ----------
    process : callable
        Takes and gives an array of shape (n, 2), without latency.
    samples : ndarray of float32, shape (frames, 2)
        One round of the loop.
    before_frames, after_frames : int
        Run-up (several times the slowest time constant) and run-out (the look-ahead), in frames.

    Returns
    -------
    ndarray, shape (frames, 2)
    """
    extended = np.asarray(extend_loop(samples, before_frames, after_frames), dtype=np.float32)
    return process(extended)[before_frames : before_frames + samples.shape[0]]


def outline_loop(samples: Samples, columns: int) -> tuple[float, ...]:
    """Give the loop's outline: ``columns`` peaks of 0–1, the highest of them 1."""
    edges = np.linspace(0, samples.shape[0], columns + 1).astype(int)
    level = np.abs(samples).max(axis=1)
    peaks = np.maximum.reduceat(level, np.minimum(edges[:-1], samples.shape[0] - 1))
    return tuple(float(p) for p in peaks / max(float(peaks.max()), 1e-9))
