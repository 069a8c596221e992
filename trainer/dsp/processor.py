"""A move under way: it takes sound block by block and carries on where it stopped."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

import numpy as np
import numpy.typing as npt
import scipy

from trainer.audio.clip import Clip

# Channels are rows in here, shape (2, frames), because compiled filters run fastest along rows.
Rows = npt.NDArray[np.float64]
BLOCK_FRAMES = 1 << 16
# Is told how much of a work is done, 0 to 1.
TellShare = Callable[[float], None]


def tell_nothing(share: float) -> None:
    """Keep to oneself how much is done."""


def tell_part(tell: TellShare, low: float, width: float) -> TellShare:
    """Tell how far a part of a work is as how far all of it is: the part begins at ``low`` and is ``width`` of it."""
    return lambda share: tell(low + width * share)


class Processor(Protocol):
    """Hold a move's state between two blocks."""

    @property
    def latency_frames(self) -> int:
        """By so many frames the output is late."""
        ...

    def process(self, block: Rows) -> Rows:
        """Take a block, shape (2, frames), and give as many frames; before the first block there was silence."""
        ...


class SectionFilter:
    """Run second-order sections.

    Parameters
    ----------
    sections : ndarray, shape (sections, 6)
        As scipy designs them.
    """

    latency_frames = 0

    def __init__(self, sections: npt.NDArray[np.float64], channels: int = 2) -> None:
        self.sections = np.ascontiguousarray(sections, dtype=np.float64)
        self._state = np.zeros((self.sections.shape[0], channels, 2))

    def process(self, block: Rows) -> Rows:
        """Filter a block."""
        filtered, self._state = scipy.signal.sosfilt(self.sections, block, axis=-1, zi=self._state)
        return np.asarray(filtered)


class Delay:
    """Delay rows by whole frames, so that a side path stays in step with a late one."""

    def __init__(self, frames: int, channels: int = 2) -> None:
        self.latency_frames = frames
        self._kept = np.zeros((channels, frames))

    def process(self, block: Rows) -> Rows:
        """Give what came so many frames before."""
        if not self.latency_frames:
            return block
        joined = np.concatenate([self._kept, block], axis=1)
        self._kept = joined[:, joined.shape[1] - self.latency_frames :].copy()
        return joined[:, : block.shape[1]]


class Overlapped:
    """Run a function whose result at a frame depends on nothing further than a margin away.

    Parameters
    ----------
    function : callable
        Takes and gives rows, shape (2, frames); what it gives within the margin of either end is thrown away.
    margin_frames : int
        How far it looks, on either side.
    quantum_frames : int
        It is called on whole multiples of this, counted from the first frame.
    """

    def __init__(self, function: Callable[[Rows], Rows], margin_frames: int, quantum_frames: int) -> None:
        self._function, self._margin, self._quantum = function, margin_frames, quantum_frames
        self.latency_frames = margin_frames + quantum_frames
        self._heard = np.zeros((2, margin_frames))
        self._done = np.zeros((2, self.latency_frames))

    def process(self, block: Rows) -> Rows:
        """Take a block, finish what can be finished."""
        self._heard = np.concatenate([self._heard, block], axis=1)
        ready = max(0, self._heard.shape[1] - 2 * self._margin) // self._quantum * self._quantum
        if ready:
            made = self._function(self._heard[:, : ready + 2 * self._margin])
            self._done = np.concatenate([self._done, made[:, self._margin : self._margin + ready]], axis=1)
            self._heard = self._heard[:, ready:].copy()
        out, self._done = self._done[:, : block.shape[1]], self._done[:, block.shape[1] :].copy()
        return out


class Chain:
    """Run fresh processors one after the other; neighbouring filters are joined, which is much faster."""

    def __init__(self, processors: tuple[Processor, ...]) -> None:
        self._processors = _join_filters(processors)
        self.latency_frames = sum(processor.latency_frames for processor in processors)

    def process(self, block: Rows) -> Rows:
        """Send a block through all."""
        for processor in self._processors:
            block = processor.process(block)
        return block


def _join_filters(processors: tuple[Processor, ...]) -> tuple[Processor, ...]:
    """Make one filter of filters that follow each other."""
    joined: list[Processor] = []
    for processor in processors:
        last = joined[-1] if joined else None
        if isinstance(processor, SectionFilter) and isinstance(last, SectionFilter):
            joined[-1] = SectionFilter(np.concatenate([last.sections, processor.sections]))
        else:
            joined.append(processor)
    return tuple(joined)


def run_through(
    processor: Processor, clip: Clip, block_frames: int = BLOCK_FRAMES, tell: TellShare = tell_nothing
) -> Clip:
    """Process a whole clip from start to end in blocks, with silence around it.

    Parameters
    ----------
    processor : Processor
        Fresh; it is used up.
    clip : Clip
        The sound.
    block_frames : int
        Frames at a time, 1 or more; the result does not depend on it.
    tell : callable
        Is told after each block how much is done, 0 to 1.

    Returns
    -------
    Clip
        Same length, not late.
    """

    def cut(start: int, stop: int) -> npt.NDArray[np.float32]:
        heard = clip.samples[start : min(stop, clip.frames)]
        missing = stop - start - heard.shape[0]
        return np.pad(heard, ((0, missing), (0, 0))) if missing else heard

    return _feed(processor, clip, cut, processor.latency_frames, block_frames, tell)


def run_round(begin: Callable[[], Processor], loop: Clip, run_up_frames: int) -> Clip:
    """Process a loop as if it had been running for ever.

    Parameters
    ----------
    begin : callable
        Gives a fresh processor.
    loop : Clip
        One round.
    run_up_frames : int
        So much of the loop's own tail goes first: several times the slowest time constant.

    Returns
    -------
    Clip
        One round, in steady state, not late.
    """
    frames = loop.frames

    def cut(start: int, stop: int) -> npt.NDArray[np.float32]:
        first = (start - run_up_frames) % frames
        inside = first + stop - start <= frames
        return (
            loop.samples[first : first + stop - start]
            if inside
            else loop.samples[np.arange(first, first + stop - start) % frames]
        )

    processor = begin()
    return _feed(processor, loop, cut, run_up_frames + processor.latency_frames, BLOCK_FRAMES)


def _feed(
    processor: Processor,
    clip: Clip,
    cut: Callable[[int, int], npt.NDArray[np.float32]],
    skipped: int,
    block_frames: int,
    tell: TellShare = tell_nothing,
) -> Clip:
    """Feed blocks of what is cut, and keep as much as the clip is long behind what is skipped."""
    out = np.empty((clip.frames, 2), dtype=np.float32)
    total = skipped + clip.frames
    for start in range(0, total, block_frames):
        stop = min(start + block_frames, total)
        heard = cut(start, stop)
        block = np.empty((2, stop - start))
        # One side after the other: a transposed copy of both at once is three times slower.
        for side in (0, 1):
            block[side] = heard[:, side]
        done = processor.process(block)
        for side in (0, 1) if stop > skipped else ():
            out[max(0, start - skipped) : stop - skipped, side] = done[side, max(0, skipped - start) :]
        tell(stop / total)
    return Clip(out, clip.rate_hz)
