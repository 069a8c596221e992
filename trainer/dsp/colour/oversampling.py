"""A bend of the wave at several times the rate: polyphase filters as matrix products, without delay.

Only what a curve *adds* to the sound goes up and down again; the sound itself goes past. So nothing happens to what
the curve leaves alone, not even near the end of the band, where the way up and down would take something away.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from trainer.dsp.processor import Delay, Overlapped, Processor, Rows
from trainer.measure.interpolation import design_interpolator

BETA = 10.0
TAPS = 40
# Up to here nothing is lost on the way up and down.
PASS_HZ = 20000.0
# So wide is the filters' fall, in parts of the rate, with 40 taps to a phase.
FALL = 1 / 6
# Stretches are a little longer than the taps' overlap, so that two neighbours hold all that one result needs:
# every other pair of stretches is then a row of a matrix that need not be copied.
SHORTEST_STRETCH = 40
# What lies between up and down then stays in the processor's cache.
FRAMES_AT_ONCE = 24576

Wave = npt.NDArray[np.float32]
AddedBy = Callable[[Wave, Wave], None]


class Oversampler:
    """Read a wave between its samples, and go back.

    Parameters
    ----------
    factor : int
        So many times the rate, 2 or more.
    rate_hz : int
        The rate to start from; between 44 and 48 kHz the filters are longer, for the same pass band.

    Notes
    -----
    Kaiser-windowed sinc, its corner at Nyquist; products in float32, which is within 1e-3 dB of float64.
    """

    def __init__(self, factor: int, rate_hz: int) -> None:
        self.factor, self.taps = factor, choose_taps(rate_hz)
        self._stretch = max(SHORTEST_STRETCH, self.taps)
        self._up, self._down = _spread(factor, self.taps, self._stretch)

    def raise_rate(self, signal: npt.NDArray[np.floating]) -> Wave:
        """Read one channel, shape (frames,), between its samples: shape (factor, frames), row 0 the samples."""
        filled = self._fill(signal.size)
        between = self._raise(self._pad(signal, self.taps // 2 - 1, filled))
        phases = np.empty((self.factor, signal.size), dtype=np.float32)
        phases[0] = signal
        spread = between.reshape(-1, self.factor - 1, self._stretch).transpose(1, 0, 2)
        phases[1:] = spread.reshape(self.factor - 1, filled)[:, : signal.size]
        return phases

    def lower_rate(self, phases: Wave) -> Wave:
        """Go back from shape (factor, frames) to shape (frames,); what is above the lower Nyquist is taken away."""
        frames, filled = phases.shape[1], self._fill(phases.shape[1])
        padded = np.stack([self._pad(phase, self.taps // 2, filled) for phase in phases[1:]])
        between = padded.reshape(self.factor - 1, -1, self._stretch).transpose(1, 0, 2)
        lowered = self._lower(np.ascontiguousarray(between).reshape(-1, (self.factor - 1) * self._stretch))
        return np.asarray(lowered[:frames] + phases[0] / np.float32(self.factor))

    def add(self, signal: npt.NDArray[np.floating], added_by: AddedBy) -> Wave:
        """Give what a curve adds to one channel, shape (frames,); silence lies around it.

        ``added_by`` takes a wave of any shape, and one like it into which it writes what is added.
        """
        side, stretch, filled = self.taps - 1, self._stretch, self._fill(signal.size)
        padded = self._pad(signal, side, filled + 2 * stretch)
        added = np.empty(filled, dtype=np.float32)
        added_by(padded[side : side + filled], added)
        added /= np.float32(self.factor)
        step = min(filled, FRAMES_AT_ONCE // (2 * stretch) * 2 * stretch)
        made = np.empty((step // stretch + 2, (self.factor - 1) * stretch), dtype=np.float32)
        for start in range(0, filled, step):
            frames = min(step, filled - start)
            read = self._raise(padded[start : start + frames + 3 * stretch])
            added_by(read, made[: read.shape[0]])
            added[start : start + frames] += self._lower(made[: read.shape[0] - 1])
        return added[: signal.size]

    def _fill(self, frames: int) -> int:
        """Frames of so many pairs of stretches as hold all."""
        return -(-frames // (2 * self._stretch)) * 2 * self._stretch

    def _pad(self, signal: npt.NDArray[np.floating], before: int, filled: int) -> Wave:
        """Lay silence around a channel, for results of a filled length."""
        padded = np.zeros(filled + self._stretch, dtype=np.float32)
        padded[before : before + signal.size] = signal
        return padded

    def _raise(self, padded: Wave) -> Wave:
        """Read pairs of stretches between their samples, shape (stretches, phases but one times a stretch).

        One stretch more lies behind.
        """
        return _multiply_pairs(padded.reshape(-1, self._stretch), self._up)

    def _lower(self, between: Wave) -> Wave:
        """Average back what `_raise` gives, shape (frames,); one stretch more lies behind."""
        return _multiply_pairs(between, self._down).reshape(-1)


class Beside:
    """Mix what a side path makes in with the sound that it is made from, in step.

    Parameters
    ----------
    side : Processor
        The side path, fresh.
    gain : float
        Amplitude factor of what it makes.
    """

    def __init__(self, side: Processor, gain: float = 1.0) -> None:
        self._side, self._gain = side, gain
        self._straight = Delay(side.latency_frames)
        self.latency_frames = side.latency_frames

    def process(self, block: Rows) -> Rows:
        """Take a block."""
        made = self._side.process(block)
        return self._straight.process(block) + (made if self._gain == 1 else self._gain * made)


def begin_added(added_by: AddedBy, factor: int, rate_hz: int) -> Processor:
    """Begin a side path that makes what a curve adds, oversampled.

    Parameters
    ----------
    added_by : callable
        Takes a float32 wave of any shape, and one like it into which it writes what the curve adds.
    factor : int
        4 for a gentle bend, 8 for a corner.
    rate_hz : int
        Rate of the sound, which should hold nothing above 21 kHz, see `trainer.dsp.band_limit`.

    Returns
    -------
    Processor
        Late by whole frames, the same for every block size.
    """
    oversampler = Oversampler(factor, rate_hz)

    def make(rows: Rows) -> Rows:
        added = np.empty(rows.shape)
        for row, channel in zip(rows, added, strict=True):
            channel[:] = oversampler.add(row, added_by)
        return added

    return Overlapped(make, oversampler.taps, SHORTEST_STRETCH)


def choose_taps(rate_hz: int) -> int:
    """Choose the taps of a phase so that the pass band reaches 20 kHz, or as near to a low Nyquist as it may."""
    room = (rate_hz - 2 * PASS_HZ) / rate_hz
    if rate_hz < 44000 or room >= FALL:
        return TAPS
    return 2 * -int(-TAPS * FALL / room // 2)


@lru_cache(maxsize=8)
def _spread(factor: int, taps: int, stretch: int) -> tuple[Wave, Wave]:
    """Spread the filters to the banded matrices of a stretch, up and down; phase 0 is the samples themselves.

    Shapes (2 stretches, phases but one times a stretch), and the other way round for two stretches of all phases.
    """
    filters = design_interpolator(factor, taps, BETA)[1:]
    up = np.zeros((2 * stretch, factor - 1, stretch), dtype=np.float32)
    down = np.zeros((2, factor - 1, stretch, stretch), dtype=np.float32)
    for place in range(stretch):
        up[place : place + taps, :, place] = filters.T
        for number in range(taps):
            later, where = divmod(place + number, stretch)
            down[later, :, where, place] = filters[:, taps - 1 - number] / factor
    return up.reshape(2 * stretch, -1), down.reshape(-1, stretch)


def _multiply_pairs(rows: Wave, matrix: Wave) -> Wave:
    """Multiply each row, joined with the next one, with a matrix; an even number of results, so odd rows."""
    count, width = rows.shape[0] - 1, rows.shape[1]
    products = np.empty((count // 2, 2, matrix.shape[1]), dtype=np.float32)
    for place in (0, 1):
        pairs = rows[place : place + count].reshape(-1, 2 * width)
        np.matmul(pairs, matrix, out=products[:, place])
    return products.reshape(count, -1)
