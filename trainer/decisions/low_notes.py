"""The lowest note that is played in a song."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from trainer.measure.spectrum import LongTermSpectrum

Lines = npt.NDArray[np.float64]

LOWEST_HZ = 18.0
# In a frame of 1.4 s a note is a line that stands so far over what lies a few lines beside it, and is at most so far
# below the strongest one. It is played where that is so in this share of the frames. Common practice, no source.
OVER_BESIDE_DB, BELOW_STRONGEST_DB, LEAST_SHARE = 9.0, 20.0, 0.03
LEAST_FRAMES = 2
# A note is the same from frame to frame within so many lines, 0.7 Hz each.
SAME_LINES = 2
# A Hann window's line is three lines wide at its top, and beside it begins behind five.
SIDE_FIRST, SIDE_LAST = 4, 8


def find_lowest_note(spectrum: LongTermSpectrum) -> float | None:
    """Find the lowest note, or tuned drum, that is played more than once.

    Parameters
    ----------
    spectrum : LongTermSpectrum
        Of the whole song, with its low frames.

    Returns
    -------
    float or None
        Hz, 18 to 420; None where there is no such line.
    """
    frames = spectrum.low_frames.sum(axis=1).astype(np.float64)
    played = np.array([_mark_lines(frame, spectrum.width_hz) for frame in frames])
    strongest = frames.max(axis=1, initial=0.0)
    # Frames without music, before the first note and behind the last, do not count.
    heard = strongest > strongest.max(initial=0.0) * 1e-3
    if not heard.any() or not played[heard].any():
        return None
    spread = np.array([np.convolve(row, np.ones(2 * SAME_LINES + 1), "same") > 0 for row in played[heard]])
    counts = spread.sum(axis=0)
    least = max(LEAST_FRAMES, LEAST_SHARE * int(heard.sum()))
    wide = np.flatnonzero(counts >= min(least, heard.sum()))
    lines = np.flatnonzero(played[heard].any(axis=0))
    lowest = [line for line in lines.tolist() if line in wide]
    if not lowest:
        return None
    near = np.arange(lowest[0], lowest[0] + SAME_LINES + 1)
    weight = (frames[heard][:, near] * played[heard][:, near]).sum(axis=0)
    return _interpolate(frames[heard].mean(axis=0), int(near[weight.argmax()])) * spectrum.width_hz


def _mark_lines(frame: Lines, width_hz: float) -> npt.NDArray[np.bool_]:
    """Mark the lines of a frame that are notes."""
    marks = np.zeros(frame.size, dtype=bool)
    floor = float(frame.max(initial=0.0)) * 10 ** (-BELOW_STRONGEST_DB / 10)
    first = max(SIDE_LAST, int(np.ceil(LOWEST_HZ / width_hz)))
    places = np.arange(first, frame.size - SIDE_LAST)
    beside = np.maximum(
        np.median([frame[places - step] for step in range(SIDE_FIRST, SIDE_LAST + 1)], axis=0),
        np.median([frame[places + step] for step in range(SIDE_FIRST, SIDE_LAST + 1)], axis=0),
    )
    top = (frame[places] >= frame[places - 1]) & (frame[places] > frame[places + 1])
    marks[places] = top & (frame[places] > floor) & (frame[places] > beside * 10 ** (OVER_BESIDE_DB / 10))
    return marks


def _interpolate(power: Lines, line: int) -> float:
    """Place the top of a line between its neighbours, by a parabola through their logarithms."""
    below, own, above = np.log(np.maximum(power[line - 1 : line + 2], 1e-30))
    bend = below - 2 * own + above
    return line + float(np.clip(0.5 * (below - above) / bend, -0.5, 0.5)) if bend < 0 else float(line)
