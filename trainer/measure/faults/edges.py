"""How a file begins and ends: silence, noise before the music, cuts, the decay of the tail."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.measure import standards
from trainer.measure.faults.finding import Finding
from trainer.measure.loudness_trace import LoudnessTrace, to_lufs
from trainer.measure.peak_trace import to_db
from trainer.measure.steps import STEP_S, Wave

SILENCE = 10 ** (-72 / 20)
EDGE_S = 0.06
# A sound that begins within half a millisecond, this near to what follows, was cut into.
START_S, START_LEAST, START_SHARE = 0.0005, 10 ** (-50 / 20), 0.1
# A sound that is still so high in its last 2 ms was cut off.
END_S, END_LEAST, END_SHARE = 0.002, 10 ** (-56 / 20), 10 ** (-26 / 20)
# Noise so far under the song is not heard where the song is loud; of a loud master so low is the mix's own 16 bits.
HEAD_UNDER_SONG_LU = 60.0
HEAD_LEAST_S, HEAD_LEAST_LUFS, HEAD_JUMP_LU, HEAD_SPREAD_LU = 0.15, -80.0, 18.0, 6.0


@dataclass(frozen=True)
class Edges:
    """Say how a file begins and ends.

    Parameters
    ----------
    head_silence_s, tail_silence_s : float or None
        Time before the first and after the last sample over −72 dBFS; None if there is none.
    tail_decay_s : float or None
        Time from the last tenth of a second within 10 LU of the integrated loudness to the last over −70 LUFS.
    """

    head_silence_s: float | None
    tail_silence_s: float | None
    tail_decay_s: float | None


class EdgeMeter:
    """Keep what is needed of a file's first and last moments, block by block."""

    def __init__(self, rate_hz: int) -> None:
        self.rate_hz = rate_hz
        self._keep = int(EDGE_S * rate_hz)
        self._head: npt.NDArray[np.float32] | None = None
        self._tail: npt.NDArray[np.float32] = np.zeros(0, np.float32)
        self._frames, self._first, self._last = 0, -1, -1

    def add(self, block: npt.NDArray[np.float32]) -> None:
        """Take the next block, shape (channels, frames)."""
        tops = np.abs(block).max(axis=0)
        if self._head is None or self._head.size < self._keep:
            known = np.zeros(0, np.float32) if self._head is None else self._head
            self._head = np.concatenate([known, tops])[: self._keep]
        sounding = np.flatnonzero(tops > SILENCE)
        if sounding.size:
            self._first = self._frames + int(sounding[0]) if self._first < 0 else self._first
            self._last = self._frames + int(sounding[-1])
        self._tail = np.concatenate([self._tail, tops])[-self._keep :]
        self._frames += block.shape[1]

    def finish(self, loudness: LoudnessTrace, channels: int) -> tuple[Edges, tuple[Finding, ...]]:
        """Give the edges, and what is wrong with them."""
        named = "mono" if channels == 1 else "both"
        decay = _measure_decay(loudness)
        if self._first < 0 or self._head is None:
            return Edges(None, None, decay), ()
        edges = Edges(self._first / self.rate_hz, (self._frames - 1 - self._last) / self.rate_hz, decay)
        found = (*self._find_cuts(named), *_find_head_noise(loudness, named))
        return edges, found

    def _find_cuts(self, named: str) -> list[Finding]:
        """Find an abrupt start and end; strength is the highest sample at the cut, dBFS."""
        found, duration_s = [], self._frames / self.rate_hz
        assert self._head is not None
        start = float(self._head[: max(2, int(START_S * self.rate_hz))].max())
        if start > max(START_LEAST, START_SHARE * float(self._head.max())):
            found.append(Finding("abrupt_start", 0.0, START_S, named, to_db(start), "dBFS"))
        end = float(self._tail[-max(2, int(END_S * self.rate_hz)) :].max())
        if end > max(END_LEAST, END_SHARE * float(self._tail.max())):
            found.append(Finding("abrupt_end", duration_s - END_S, duration_s, named, to_db(end), "dBFS"))
        return found


def _measure_decay(loudness: LoudnessTrace) -> float | None:
    """Measure how long the last sound takes to die away, s."""
    levels = _levels_of_tenths(loudness.power)
    loud = np.flatnonzero(levels > loudness.integrated_lufs + standards.RELATIVE_GATE_LU)
    heard = np.flatnonzero(levels > standards.ABSOLUTE_GATE_LUFS)
    if not math.isfinite(loudness.integrated_lufs) or loud.size == 0:
        return None
    return float(heard[-1] - loud[-1]) * standards.BLOCK_STEP_S


def _find_head_noise(loudness: LoudnessTrace, named: str) -> list[Finding]:
    """Find a steady noise before the music begins; strength is its loudness, LUFS."""
    levels = to_lufs(loudness.power)
    if not math.isfinite(loudness.integrated_lufs):
        return []
    loud = np.flatnonzero(levels > loudness.integrated_lufs - HEAD_JUMP_LU)
    first = int(loud[0]) if loud.size else 0
    while first > 0 and levels[first - 1] > -60 and levels[first - 1] > levels[:first].min() + HEAD_SPREAD_LU:
        first -= 1
    least = max(HEAD_LEAST_LUFS, loudness.integrated_lufs - HEAD_UNDER_SONG_LU)
    sounding = np.flatnonzero(levels[:first] > least)
    if sounding.size * STEP_S < HEAD_LEAST_S:
        return []
    head = levels[int(sounding[0]) : first]
    middle = float(np.median(head))
    jump = float(levels[first : first + 10].max()) - middle
    spread = float(np.percentile(head, 90) - np.percentile(head, 10))
    if middle < least or jump < HEAD_JUMP_LU or spread > HEAD_SPREAD_LU:
        return []
    return [Finding("head_noise", float(sounding[0]) * STEP_S, first * STEP_S, named, middle, "LUFS")]


def _levels_of_tenths(power: Wave) -> Wave:
    """Loudness of each tenth of a second, LUFS."""
    count = power.size // 10
    return to_lufs(power[: 10 * count].reshape(count, 10).mean(axis=1))
