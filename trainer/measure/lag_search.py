"""By how much one recording of a song may be late against another: a search over all of both, on a sketch of each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy

Row = npt.NDArray[np.float32]
Wave = npt.NDArray[np.float64]

REDUCED_HZ = 4000
# Each line of a short spectrum is raised to this power: equalisers and compressors count for little, noise not for all.
EXPONENT = 0.3
FRAME = 768
SOFT = 1e-4
# Pieces of the shorter recording are looked for in all of the longer one.
PIECES, PIECE_S = 6, 12.0
# The pieces need not agree better than that: clocks differ.
AGREE_S = 0.006
# Where a piece would lie on next to nothing, that nothing is no match.
LEAST_ENERGY = 1e-3
APART_S = 0.05
# The low-pass of the reduction, as scipy's `resample_poly` designs it.
HALF_STEPS, KAISER_BETA = 10, 5.0


@dataclass(frozen=True)
class Sketch:
    """Hold a recording at about 4 kHz with its spectrum evened out.

    Parameters
    ----------
    wave : ndarray of float32, shape (frames,)
        One row of sound.
    step : int
        Frames of the recording to each of these.
    rate_hz : float
        Rate of these.
    """

    wave: Row
    step: int
    rate_hz: float


def sketch_song(row: npt.NDArray[np.floating], rate_hz: int) -> Sketch:
    """Make a sketch of one row of sound, shape (frames,)."""
    step = max(1, round(rate_hz / REDUCED_HZ))
    return Sketch(_even_out(_reduce(np.asarray(row, dtype=np.float32), step)), step, rate_hz / step)


def find_lags(template: Sketch, whole: Sketch, count: int) -> tuple[int, ...]:
    """Find where a recording may lie in another.

    Parameters
    ----------
    template, whole : Sketch
        The shorter one, and the longer one; both of one rate.
    count : int
        How many places are wanted, 1 or more.

    Returns
    -------
    tuple of int
        What is at frame n of the template may be at frame n + lag of the whole: frames of the recordings, to within
        one step of the sketches; the likeliest first.

    Notes
    -----
    The pieces' normalised cross-correlations, squared and added up; all lags at which half a piece overlaps.
    """
    size = min(int(PIECE_S * template.rate_hz), template.wave.size)
    total = np.zeros(template.wave.size + whole.wave.size)
    energy = _window_energy(whole.wave, size)
    length = scipy.fft.next_fast_len(whole.wave.size + size, real=True)
    spectrum = scipy.fft.rfft(whole.wave, length)
    for start in np.unique(np.linspace(0, template.wave.size - size, PIECES).astype(int)).tolist():
        piece = template.wave[start : start + size]
        found = scipy.fft.irfft(spectrum * np.conj(scipy.fft.rfft(piece, length)), length)
        likeness = _normalise(np.concatenate([found[length - size + 1 :], found[: whole.wave.size]]), piece, energy)
        # Places of the piece in the whole run from 1 - size on; lags from minus the template's length on.
        first = template.wave.size - size + 1 - start
        total[first : first + likeness.size] += scipy.ndimage.maximum_filter1d(
            likeness, 2 * int(AGREE_S * whole.rate_hz) + 1
        )
    return _list_highest(total, template, count)


def _reduce(row: Row, step: int) -> Row:
    """Keep one frame of some, of what lies below their rate: as scipy's `resample_poly` does, as a matrix product.

    The low-pass is cut to pieces of one step each; a product gives what every piece makes of every step.
    """
    if step == 1:
        return row
    half = HALF_STEPS * step
    taps = np.zeros((2 * HALF_STEPS + 1) * step, dtype=np.float32)
    taps[: 2 * half + 1] = scipy.signal.firwin(2 * half + 1, 1 / step, window=("kaiser", KAISER_BETA))
    count = -(-row.size // step)
    padded = np.zeros((count + 2 * HALF_STEPS + 1) * step, dtype=np.float32)
    padded[half : half + row.size] = row
    parts = taps.reshape(-1, step) @ padded.reshape(-1, step).T
    reduced = parts[0, :count].copy()
    for place in range(1, parts.shape[0]):
        reduced += parts[place, place : place + count]
    return reduced


def _even_out(wave: Row) -> Row:
    """Bring the lines of short spectra nearer to one height, and put the wave together again."""
    hop = FRAME // 2
    window = np.sqrt(np.hanning(FRAME + 1)[:-1]).astype(np.float32)
    padded = np.pad(wave, (hop, FRAME))
    count = (padded.size - FRAME) // hop + 1
    frames = np.lib.stride_tricks.sliding_window_view(padded, FRAME)[::hop] * window
    lines = scipy.fft.rfft(frames, axis=1)
    height = np.abs(lines)
    lines *= (height + SOFT * height.max(initial=0.0) + 1e-12) ** (EXPONENT - 1)
    frames = scipy.fft.irfft(lines, n=FRAME, axis=1) * window
    joined = np.zeros((count + 1, hop), dtype=np.float32)
    joined[:-1] += frames[:, :hop]
    joined[1:] += frames[:, hop:]
    return np.asarray(joined.reshape(-1)[hop : hop + wave.size])


def _window_energy(wave: Row, size: int) -> Wave:
    """Energy under a window at every place where it overlaps at all, and no less than a little."""
    total = np.concatenate([[0.0], np.cumsum(wave.astype(np.float64) ** 2)])
    places = np.arange(1 - size, wave.size)
    energy = total[np.minimum(places + size, wave.size)] - total[np.maximum(places, 0)]
    return np.asarray(np.maximum(energy, LEAST_ENERGY * float(np.median(energy)) + 1e-20))


def _normalise(found: npt.NDArray[np.floating], piece: Row, energy: Wave) -> Wave:
    """Square the normalised correlation, where half the piece or more overlaps."""
    own = float((piece.astype(np.float64) ** 2).sum())
    likeness = found.astype(np.float64) ** 2 / (energy * max(own, 1e-20))
    half = piece.size // 2
    likeness[:half] = 0
    likeness[likeness.size - half :] = 0
    return likeness


def _list_highest(total: Wave, template: Sketch, count: int) -> tuple[int, ...]:
    """List the lags of the highest sums, each 50 ms or more from the others."""
    left, around, lags = total.copy(), int(APART_S * template.rate_hz), []
    for _ in range(count):
        place = int(left.argmax())
        lags.append((place - template.wave.size) * template.step)
        left[max(0, place - around) : place + around + 1] = -1.0
    return tuple(lags)
