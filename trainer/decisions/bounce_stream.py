"""A song passing by in blocks, shape (2, frames): trimmed, processed, converted, faded, rounded; never held whole."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from fractions import Fraction

import numpy as np
import numpy.typing as npt

from trainer.audio.clip import Clip
from trainer.audio.dither import TPDF_LSB, Quantiser, step_of_bits
from trainer.audio.fades import make_rise
from trainer.audio.resampling import ZERO_CROSSINGS, resample_clip
from trainer.decisions.sheet import Fades
from trainer.dsp.processor import BLOCK_FRAMES, Processor, Rows
from trainer.measure.loudness_trace import LoudnessMeter, LoudnessTrace
from trainer.measure.peak_trace import PeakMeter, PeakTrace
from trainer.measure.steps import block_frames
from trainer.units import db_to_gain

CONVERTED_FRAMES = 1 << 18

Codes = npt.NDArray[np.int32]


def trim_blocks(blocks: Iterable[npt.NDArray[np.float32]], first: int, last: int) -> Iterator[Rows]:
    """Keep the frames from ``first`` to before ``last``; one channel is put on both sides."""
    at = 0
    for block in blocks:
        kept = block[:, max(0, first - at) : max(0, last - at)]
        at += block.shape[1]
        if kept.shape[1]:
            yield np.broadcast_to(kept, (2, kept.shape[1])).astype(np.float64)
        if at >= last:
            return


def run_blocks(processor: Processor, blocks: Iterable[Rows]) -> Iterator[Rows]:
    """Send blocks through a fresh processor: as many frames come out, not late."""
    late = processor.latency_frames
    skip = late

    def feed() -> Iterator[Rows]:
        yield from blocks
        for start in range(0, late, BLOCK_FRAMES):
            yield np.zeros((2, min(BLOCK_FRAMES, late - start)))

    for block in feed():
        made = processor.process(block)
        cut = min(skip, made.shape[1])
        skip -= cut
        if made.shape[1] > cut:
            yield made[:, cut:]


def convert_blocks(blocks: Iterable[Rows], from_hz: int, to_hz: int) -> Iterator[Rows]:
    """Convert to another rate, stretch by stretch with their surroundings, as `resample_clip` does a whole clip.

    Parameters
    ----------
    blocks : iterable of ndarray, shape (2, frames)
        The sound.
    from_hz, to_hz : int
        Its rate, and the rate wished.

    Yields
    ------
    ndarray, shape (2, frames)
        In all ``ceil(frames * to_hz / from_hz)`` frames, without delay.
    """
    if from_hz == to_hz:
        yield from blocks
        return
    ratio = Fraction(to_hz, from_hz)
    up, down = ratio.numerator, ratio.denominator
    # Whole numbers of input frames that are whole numbers of output frames too.
    side = -(-(ZERO_CROSSINGS * max(up, down) // up + 2) // down) * down
    length = max(1, CONVERTED_FRAMES // down) * down
    held, total, given = np.zeros((2, side)), 0, 0
    for block in blocks:
        total += block.shape[1]
        held = np.concatenate([held, block], axis=1)
        while held.shape[1] >= length + 2 * side:
            yield _convert(held[:, : length + 2 * side], from_hz, to_hz, side * up // down, length * up // down)
            given += length * up // down
            held = held[:, length:]
    rest = -(-total * up // down) - given
    if rest:
        yield _convert(np.pad(held, ((0, 0), (0, side))), from_hz, to_hz, side * up // down, rest)


def _convert(rows: Rows, from_hz: int, to_hz: int, first: int, frames: int) -> Rows:
    clip = Clip(np.ascontiguousarray(rows.T, dtype=np.float32), from_hz)
    return np.asarray(resample_clip(clip, to_hz).samples[first : first + frames].T, dtype=np.float64)


def fade_blocks(blocks: Iterable[Rows], frames: int, fades: Fades, rate_hz: int) -> Iterator[Rows]:
    """Fade ``frames`` frames in at their head and out at their tail."""
    head = make_rise(round(fades.fade_in_s * rate_hz), fades.curve_in)
    tail = make_rise(round(fades.fade_out_s * rate_hz), fades.curve_out)[::-1]
    begins, at = frames - tail.size, 0
    for block in blocks:
        stop = at + block.shape[1]
        if at < head.size or stop > begins:
            block = block.copy()
            rising = head[at:stop]
            block[:, : rising.size] *= rising
            first = max(begins - at, 0)
            block[:, first:] *= tail[max(at - begins, 0) : max(stop - begins, 0)]
        yield block
        at = stop


def turn_blocks(blocks: Iterable[Rows], gain_db: float) -> Iterator[Rows]:
    """Turn by a gain; 0 dB gives the blocks themselves."""
    return iter(blocks) if gain_db == 0 else (block * db_to_gain(gain_db) for block in blocks)


def round_blocks(blocks: Iterable[Rows], bits: int, rng: np.random.Generator) -> Iterator[Codes]:
    """Round to whole steps with triangular dither: numbers of a file of so many bits."""
    quantiser, step, highest = Quantiser(bits, TPDF_LSB, rng), step_of_bits(bits), 2 ** (bits - 1)
    for block in blocks:
        codes = np.rint(quantiser.process(block) / step)
        yield np.clip(codes, -highest, highest - 1).astype(np.int32)


def regroup_blocks(blocks: Iterable[Rows], frames: int) -> Iterator[Rows]:
    """Give the same sound in blocks of so many frames, the last one save."""
    held: list[Rows] = []
    count = 0
    for block in blocks:
        held.append(block)
        count += block.shape[1]
        if count >= frames:
            joined = np.concatenate(held, axis=1)
            whole = count // frames * frames
            for start in range(0, whole, frames):
                yield joined[:, start : start + frames]
            held, count = [joined[:, whole:]], count - whole
    if count:
        yield np.concatenate(held, axis=1)


def measure_blocks(
    blocks: Iterable[Rows], rate_hz: int, keep: Callable[[npt.NDArray[np.float32]], None]
) -> tuple[LoudnessTrace, PeakTrace]:
    """Measure loudness and peaks of what passes, and hand every block on as it was measured, in single precision."""
    loudness, peaks = LoudnessMeter(rate_hz, 2), PeakMeter(rate_hz, 2)
    for block in regroup_blocks(blocks, block_frames(rate_hz)):
        plain = np.ascontiguousarray(block, dtype=np.float32)
        loudness.add(plain)
        peaks.add(plain)
        keep(plain)
    return loudness.finish(), peaks.finish()
