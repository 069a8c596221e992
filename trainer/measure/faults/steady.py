"""What lies under a whole file: hum, hiss, an offset from zero."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from trainer.measure.faults.finding import Finding, name_channel
from trainer.measure.peak_trace import PeakTrace, to_db
from trainer.measure.spectrum import LongTermSpectrum
from trainer.measure.steps import Wave

MAINS_HZ = (50.0, 60.0)
MULTIPLES = 7
# A line of the mains stands this far over what is beside it, at every moment but a tenth, in this many multiples.
LINE_DB = 9.0
LEAST_LINES = 2
LEAST_FRAMES = 6
FAINTEST_HUM_DBFS = -85.0
# The softest tenths of a second of music differ; those of hiss are all alike.
HISS_SPREAD_DB = 1.2
# Second differences of white noise have three times the power of first ones; of notes, much less.
HISS_RISE = 2.0
FAINTEST_HISS_DBFS = -78.0
OFFSET = 10 ** (-60 / 20)


def find_hum(spectrum: LongTermSpectrum, duration_s: float, channels: int) -> tuple[Finding, ...]:
    """Find the mains' lines that are always there; strength is the level of all of them, dBFS.

    Notes
    -----
    Common practice, no source: hum is steady and lies on multiples of 50 or 60 Hz; a bass moves.
    """
    if spectrum.low_frames.shape[0] < LEAST_FRAMES:
        return ()
    steady = np.percentile(spectrum.low_frames, 10, axis=0)
    found = []
    for channel in range(channels):
        lines = [_read_lines(steady[channel], mains, spectrum.width_hz) for mains in MAINS_HZ]
        power, mains = max((sum(lines[index]), index) for index in range(len(MAINS_HZ)))
        level = 10 * float(np.log10(power + 1e-20))
        if len(lines[mains]) >= LEAST_LINES and level > FAINTEST_HUM_DBFS:
            found.append(Finding("hum", 0.0, duration_s, name_channel(channel, channels), level, "dBFS"))
    return tuple(found)


def _read_lines(power: npt.NDArray[np.floating], mains_hz: float, width_hz: float) -> list[float]:
    """Powers of those multiples of the mains that stand out."""
    found = []
    for multiple in range(1, MULTIPLES + 1):
        middle = round(multiple * mains_hz / width_hz)
        if middle + 14 > power.size:
            break
        line = float(power[middle - 2 : middle + 3].sum())
        beside = np.concatenate([power[max(1, middle - 13) : middle - 4], power[middle + 5 : middle + 14]])
        # Five lines of what is beside it, by its median; the line itself is no wider than the window makes it.
        peak = float(power[middle - 1 : middle + 2].max())
        if line > 5 * float(np.median(beside)) * 10 ** (LINE_DB / 10) and peak > 4 * float(beside.max()):
            found.append(line)
    return found


class HissMeter:
    """Keep the power of the highest frequencies, block by block: that of the second differences of the samples."""

    def __init__(self, rate_hz: int, channels: int) -> None:
        self.rate_hz, self._channels = rate_hz, channels
        self._first: list[Wave] = []
        self._second: list[Wave] = []

    def add(self, block: npt.NDArray[np.float32]) -> None:
        """Take the next block, shape (channels, frames)."""
        if block.shape[1] >= 3:
            first = np.diff(block, axis=1)
            self._first.append(self._average(first))
            self._second.append(self._average(np.diff(first, axis=1)))

    def finish(self, duration_s: float) -> tuple[Finding, ...]:
        """Find a floor that is the same whenever the music is soft; strength is its level as white noise, dBFS."""
        if not self._second:
            return ()
        found = []
        first, second = np.concatenate(self._first, axis=1), np.concatenate(self._second, axis=1)
        for channel, power in enumerate(second):
            sounding = power > 1e-12
            if np.count_nonzero(sounding) < 30:
                continue
            low, high = (float(np.percentile(power[sounding], part)) for part in (2, 12))
            if low < HISS_RISE * float(np.percentile(first[channel, sounding], 2)):
                continue
            # White noise of power p has second differences of power 6 p (1, −2, 1).
            level = 10 * float(np.log10(low / 6))
            if 10 * np.log10(high / low) < HISS_SPREAD_DB and level > FAINTEST_HISS_DBFS:
                named = name_channel(channel, self._channels)
                found.append(Finding("hiss", 0.0, duration_s, named, level, "dBFS"))
        return tuple(found)

    def _average(self, values: npt.NDArray[np.float32]) -> Wave:
        """Mean square of each tenth of a second of a block; the last hundredths of it may be missing."""
        length = self.rate_hz // 10
        starts = np.arange(0, max(1, values.shape[1] - length // 2), length)
        lengths = np.diff(np.append(starts, values.shape[1]))
        return np.asarray(np.add.reduceat(values.astype(np.float64) ** 2, starts, axis=1) / lengths)


def find_offset(peaks: PeakTrace, duration_s: float) -> tuple[Finding, ...]:
    """Find an offset from zero of −60 dBFS or more; strength is the offset, dBFS."""
    channels = len(peaks.offset)
    return tuple(
        Finding("dc", 0.0, duration_s, name_channel(channel, channels), to_db(abs(offset)), "dBFS")
        for channel, offset in enumerate(peaks.offset)
        if abs(offset) >= OFFSET
    )
