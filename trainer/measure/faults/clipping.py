"""Clipped runs: tops cut flat, at full scale or, after a change of level, anywhere below it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from trainer.measure.faults.finding import Finding, join_findings, name_channel

LEAST_RUN = 4
CONTEXT = 512
# Runs are looked for where the wave is at least so high, and about as high as anything within 10 ms: nearly so where
# the run is short or not quite level.
LEAST_HEIGHT = 10 ** (-40 / 20)
AS_HIGH, NEARLY_AS_HIGH, NEAR_S = 0.95, 0.7, 0.01
# Dither moves a flat top by up to two steps. A wave leaves a cut at an angle: within two samples it is lower by this
# many steps, or by what a flat top of 16 bits may be lower where steps are finer or unknown. A round top of n samples
# that differ by d falls by 8 d (n + 1) / (n - 1)**2 (a parabola's); a cut one by much more.
DITHER_STEPS, FALL_STEPS, FALL_OVER_ROUND, LEAST_FALL = 2.0, 10.0, 9.0, 1.2e-4
FLOAT_STEP = 2.0**-26
JOIN_S = 0.1

Wave = npt.NDArray[np.float32]
Places = npt.NDArray[np.int_]


class ClippingScanner:
    """Look for clipped runs block by block.

    A finding's strength is its longest run, samples.

    Parameters
    ----------
    rate_hz, channels : int
        Of the file.
    step : float
        Height of its quantising steps; 0 for floating point.
    """

    def __init__(self, rate_hz: int, channels: int, step: float) -> None:
        self.rate_hz, self._step = rate_hz, max(step, FLOAT_STEP)
        self._tail = np.zeros((channels, 2 * CONTEXT), dtype=np.float32)
        self._before = -2 * CONTEXT
        self._findings: list[Finding] = []

    def add(self, block: Wave) -> None:
        """Take the next block, shape (channels, frames)."""
        wave = np.concatenate([self._tail, block], axis=1)
        for channel, row in enumerate(wave):
            named = name_channel(channel, wave.shape[0])
            for first, length in self._find_runs(row):
                start_s = (self._before + first) / self.rate_hz
                end_s = start_s + length / self.rate_hz
                self._findings.append(Finding("clipped_run", start_s, end_s, named, float(length), "samples"))
        self._tail = wave[:, -2 * CONTEXT :]
        self._before += wave.shape[1] - 2 * CONTEXT
        self._findings = list(join_findings(self._findings, JOIN_S))

    def finish(self) -> tuple[Finding, ...]:
        """Look at the end, and give all runs, those within 100 ms of each other as one."""
        self.add(np.zeros((self._tail.shape[0], 2 * CONTEXT), dtype=np.float32))
        return join_findings(self._findings, JOIN_S)

    def _find_runs(self, row: Wave) -> list[tuple[int, int]]:
        """Find first frames and lengths of the cut tops that begin between the contexts of one channel."""
        flat = np.abs(np.diff(row)) <= DITHER_STEPS * self._step
        flat &= np.abs(row[1:]) >= LEAST_HEIGHT
        edges = np.flatnonzero(np.diff(np.concatenate([[False], flat, [False]]).view(np.int8)))
        firsts, lasts = edges[::2], edges[1::2]
        wanted = (lasts - firsts + 1 >= LEAST_RUN) & (firsts >= CONTEXT) & (firsts < row.size - CONTEXT)
        firsts, lasts = firsts[wanted], lasts[wanted]
        if firsts.size == 0:
            return []
        cut = self._are_cut(row, firsts, lasts)
        return list(zip(firsts[cut].tolist(), (lasts - firsts + 1)[cut].tolist(), strict=True))

    def _are_cut(self, row: Wave, firsts: Places, lasts: Places) -> npt.NDArray[np.bool_]:
        """Tell which flat stretches are tops that were cut: level, as high as all near them, left at an angle."""
        padded = np.append(row, np.float32(0.0))
        pairs = np.stack([firsts, lasts + 1], axis=1).reshape(-1)
        spread = np.maximum.reduceat(padded, pairs)[::2] - np.minimum.reduceat(padded, pairs)[::2]
        sign = np.sign(row[firsts])
        level = sign * row[firsts]
        last = np.minimum(lasts + 2, row.size)
        before = np.minimum(sign * row[firsts - 1], sign * row[firsts - 2])
        beside = np.maximum(before, np.minimum(sign * padded[lasts + 1], sign * padded[last]))
        highest = _find_highest_near(row, firsts, int(NEAR_S * self.rate_hz))
        length = lasts - firsts + 1
        round_fall = 8 * spread * (length + 1) / (length - 1) ** 2
        fall = np.maximum(FALL_STEPS * self._step + FALL_OVER_ROUND * round_fall, LEAST_FALL)
        sure = (length > LEAST_RUN) & (spread < 0.5 * self._step)
        share = np.where(sure, NEARLY_AS_HIGH, AS_HIGH)
        return np.asarray((spread <= DITHER_STEPS * self._step) & (level - beside >= fall) & (level >= share * highest))


def _find_highest_near(row: Wave, places: Places, reach: int) -> Wave:
    """Give the highest magnitude within a reach of each place, and of up to as much again."""
    count = -(-row.size // reach)
    parts = np.zeros(count * reach, dtype=np.float32)
    parts[: row.size] = np.abs(row)
    tops = np.pad(parts.reshape(count, reach).max(axis=1), 1)
    index = places // reach
    return np.asarray(np.maximum(np.maximum(tops[index], tops[index + 1]), tops[index + 2]))
