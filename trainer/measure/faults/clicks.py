"""Clicks: single moments, under a third of a millisecond long, that stand out of everything around them."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import scipy

from trainer.measure.faults.finding import Finding, join_findings, name_channel
from trainer.measure.faults.mending import mend
from trainer.measure.faults.whitening import Wave, whiten

CONTEXT_S = 0.06
# In the whitened sound: over the RMS value of 2 to 7 ms before and after, whichever is higher; over the highest value
# within 1 ms; over the highest of the 15 ms on the louder and on the quieter side. Found on the demo songs with
# clicks planted: drums fail the first, a struck string the second, a voice's own pulses the last.
OVER_LEVEL, OVER_NEAREST, OVER_LOUDER_SIDE, OVER_QUIETER_SIDE = 5.0, 2.3, 1.8, 2.4
CORE_S, NEAREST_S, SIDE_S = 0.0001, 0.001, 0.015
SIDES_AND_SUM = 3
STRENGTH_HZ, STRENGTH_S = 4000.0, 0.05
LEAST_STRENGTH_DB = 8.0
# Over the highest value that is left within 1 ms when three samples are mended. Of planted clicks of 9 dB one in a
# twenty stands out less; of the hits of five songs, limited to −16 to −8 LUFS, bent and brightened, next to none more.
OVER_LEFT = 3.5
# A click is as strong at the very top as below it; the edge of a synthetic wave or of a drum is much weaker there.
LOWER_HZ, UPPER_HZ, MOMENT_S, LEAST_TOP_DB = (4000.0, 8000.0), (12000.0, 20000.0), 0.001, -14.0
JOIN_S = 0.005
# The very first and last moments of a file are looked at by themselves: a cut there is no click.
EDGE_S = 0.002


class ClickScanner:
    """Look for clicks block by block.

    A finding's strength is its highest sample over the RMS value of the 50 ms on either side, both above 4 kHz, dB.
    """

    def __init__(self, rate_hz: int, channels: int) -> None:
        self.rate_hz = rate_hz
        self._context = int(CONTEXT_S * rate_hz)
        self._tail = np.zeros((channels, 2 * self._context), dtype=np.float32)
        self._before = -2 * self._context
        self._findings: list[Finding] = []

    def add(self, block: Wave) -> None:
        """Take the next block, shape (channels, frames)."""
        wave = np.concatenate([self._tail, block], axis=1)
        for place, channel in self._search(wave):
            at_s = (self._before + place) / self.rate_hz
            strength = self._measure(wave, place, channel)
            named = "both" if channel == 2 else name_channel(channel, block.shape[0])
            if at_s > EDGE_S and strength >= LEAST_STRENGTH_DB and self._reaches_the_top(wave, place, channel):
                self._findings.append(Finding("click", at_s, at_s + 1 / self.rate_hz, named, strength, "dB"))
        self._tail = wave[:, -2 * self._context :]
        self._before += wave.shape[1] - 2 * self._context

    def finish(self, duration_s: float) -> tuple[Finding, ...]:
        """Look at the end, and give all clicks."""
        self.add(np.zeros((self._tail.shape[0], 2 * self._context), dtype=np.float32))
        inside = [finding for finding in self._findings if finding.start_s < duration_s - EDGE_S]
        return join_findings(inside, JOIN_S)

    def _search(self, wave: Wave) -> list[tuple[int, int]]:
        """Find places, frames of the wave with its context, and channels, 2 being both."""
        even = whiten(wave, self.rate_hz)
        found: dict[int, float] = {}
        for row in _list_rows(even):
            for place, height in self._find_in_row(np.abs(row)):
                near = next((p for p in found if abs(p - place) <= JOIN_S * self.rate_hz), None)
                if near is None or height > found[near]:
                    found.pop(place if near is None else near, None)
                    found[place] = height
        return [
            (place, _choose_channel(even[:, place])) for place in sorted(found) if self._is_mended(wave, even, place)
        ]

    def _is_mended(self, wave: Wave, even: Wave, place: int) -> bool:
        """Tell whether what stands out is gone, in one of the rows, when three samples are mended."""
        mended = mend(wave, even, place, self.rate_hz)
        tops = [float(abs(row[place])) for row in _list_rows(even)]
        left = [float(np.abs(row).max()) for row in _list_rows(mended.left_over)]
        # What is alike on both sides is none of the difference's: the rest of it is how two sides were limited.
        count = SIDES_AND_SUM if _is_alike(mended.click) else len(tops)
        return any(top > OVER_LEFT * rest for top, rest in zip(tops[:count], left[:count], strict=True))

    def _find_in_row(self, row: Wave) -> list[tuple[int, float]]:
        """Find where one whitened channel stands out in every way that is asked."""
        places = _list_candidates(row, self.rate_hz, self._context)
        side = int(SIDE_S * self.rate_hz)
        if places.size == 0:
            return []
        around = np.lib.stride_tricks.sliding_window_view(row, 2 * side + 1)[places - side]
        top = around[:, side]
        gap = max(2, round(CORE_S * self.rate_hz))
        one = max(gap + 2, round(NEAREST_S * self.rate_hz))
        nearest = np.maximum(
            around[:, side - one : side - gap].max(axis=1), around[:, side + gap + 1 : side + one + 1].max(axis=1)
        )
        left, right = around[:, : side - one // 2].max(axis=1), around[:, side + one // 2 + 1 :].max(axis=1)
        kept = (
            (top > OVER_NEAREST * nearest)
            & (top > OVER_LOUDER_SIDE * np.maximum(left, right))
            & (top > OVER_QUIETER_SIDE * np.minimum(left, right))
        )
        return [(int(place), float(height)) for place, height in zip(places[kept], top[kept], strict=True)]

    def _reaches_the_top(self, wave: Wave, place: int, channel: int) -> bool:
        """Tell whether the millisecond around a place holds its share of the highest frequencies."""
        if UPPER_HZ[1] > 0.46 * self.rate_hz:
            return True
        half = int(MOMENT_S * self.rate_hz / 2)
        part = wave[:, place - half : place + half + 1]
        row = part.mean(axis=0) if channel == 2 else part[channel]
        power = np.abs(np.fft.rfft((row - row.mean()) * np.hanning(row.size + 2)[1:-1], 8 * half)) ** 2
        hz = np.arange(power.size) * self.rate_hz / (8 * half)
        lower, upper = (float(power[(hz >= low) & (hz < high)].mean()) for low, high in (LOWER_HZ, UPPER_HZ))
        return upper >= lower * 10 ** (LEAST_TOP_DB / 10)

    def _measure(self, wave: Wave, place: int, channel: int) -> float:
        """Measure how far a click stands over what surrounds it above 4 kHz, dB."""
        around = int(STRENGTH_S * self.rate_hz)
        part = wave[:, place - around : place + around] if channel == 2 else wave[channel : channel + 1]
        part = part if channel == 2 else part[:, place - around : place + around]
        corner = min(STRENGTH_HZ, 0.4 * self.rate_hz)
        sections = scipy.signal.butter(4, corner, "highpass", fs=self.rate_hz, output="sos")
        high = scipy.signal.sosfilt(sections, part, axis=1)
        core = slice(around - 2, around + max(8, self.rate_hz // 4000))
        peak = float(np.abs(high[:, core]).max())
        high[:, core] = 0
        return 20 * float(np.log10((peak + 1e-12) / (np.sqrt((high**2).mean()) + 1e-6)))


def _list_rows(even: Wave) -> list[Wave]:
    """List the sides, and their sum and difference.

    In the sum a click on both sides stands out further, in the difference one on a side of its own.
    """
    if even.shape[0] < 2:
        return [*even]
    return [*even, (even[0] + even[1]) / np.float32(np.sqrt(2)), (even[0] - even[1]) / np.float32(np.sqrt(2))]


def _is_alike(click: Wave) -> bool:
    """Tell whether a click is on both sides with one sign, and at least half as high on the other."""
    middle = click[:, click.shape[1] // 2].astype(np.float64)
    return bool(middle.size == 2 and middle.prod() > 0.5 * (middle**2).max())


def _choose_channel(values: Wave) -> int:
    """Choose the side on which a click is, 2 for both: where it is at least half as high on the other."""
    left, right = float(abs(values[0])), float(abs(values[-1]))
    if values.size == 1 or min(left, right) > 0.5 * max(left, right):
        return 2 if values.size == 2 else 0
    return 0 if left > right else 1


def _list_candidates(row: Wave, rate_hz: int, context: int) -> npt.NDArray[np.int_]:
    """List the highest frame of each millisecond that stands over the level before and after it."""
    step = max(4, rate_hz // 1000)
    count = row.size // step
    parts = row[: count * step].reshape(count, step)
    total = np.concatenate([[0.0], np.cumsum((parts.astype(np.float64) ** 2).mean(axis=1))])
    steps = np.arange(7, count - 7)
    before = (total[steps - 1] - total[steps - 7]) / 6
    after = (total[steps + 8] - total[steps + 2]) / 6
    tops = parts[7 : count - 7].max(axis=1)
    tall = steps[(tops > OVER_LEVEL * np.sqrt(np.maximum(before, after))) & (tops > 0)]
    places = tall * step + parts[tall].argmax(axis=1)
    return np.asarray(places[(places >= context) & (places < row.size - context)])
