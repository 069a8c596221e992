"""The passes of a bounce over the disk, block by block: moves, limiter, file. Memory does not grow with the song."""

from __future__ import annotations

import math
import signal
import sys
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from trainer.decisions.bounce import CLOSE_LU, FLOAT_BITS, BouncePlan, Stopped, correct_drive
from trainer.decisions.bounce_stream import (
    convert_blocks,
    fade_blocks,
    measure_blocks,
    round_blocks,
    run_blocks,
    trim_blocks,
    turn_blocks,
)
from trainer.dsp.moves import MOVES
from trainer.dsp.processor import BLOCK_FRAMES, Rows
from trainer.dsp.song_chain import Step, begin_chain
from trainer.files.bounce_writing import Scratch, write_sound
from trainer.files.sound_blocks import open_sound

MOST_TRIES = 8
# More drive that gives less than this gives no loudness any more, only distortion.
LEAST_GAIN_LU = 0.02

Tell = Callable[[float, str], None]
Block = TypeVar("Block", bound=npt.NDArray[np.generic])


@dataclass(frozen=True)
class Watch:
    """Tell how far a bounce is, and see whether it is to be stopped.

    Parameters
    ----------
    tell : callable
        Called with a fraction, 0–1, and what is done.
    stopped : callable
        Gives True, or raises, when no more is wanted.
    """

    tell: Tell = lambda fraction, words: None
    stopped: Callable[[], bool] = lambda: False

    def part(self, low: float, high: float, lead: str = "") -> Watch:
        """Watch over a part of the work: its own 0–1 lies between two fractions of the whole."""
        return Watch(lambda share, words: self.tell(low + (high - low) * share, f"{lead}{words}"), self.stopped)

    def look(self, fraction: float, words: str) -> None:
        """Tell how far it is, or stop here.

        Raises
        ------
        Stopped
            If no more is wanted.
        """
        if self.stopped():
            raise Stopped
        self.tell(fraction, words)

    def follow(self, blocks: Iterable[Block], frames: int, low: float, high: float, words: str) -> Iterator[Block]:
        """Pass blocks on, from one fraction to another over so many frames."""
        done = 0
        for block in blocks:
            self.look(low + (high - low) * min(1.0, done / max(1, frames)), words)
            yield block
            done += block.shape[1]


@dataclass(frozen=True)
class Limited:
    """Hold what limiter and fades left: where, its loudness and true peak, and the drives that were tried."""

    sound: Scratch
    loudness_lufs: float
    true_peak_dbtp: float
    drives: tuple[tuple[float, float], ...]

    @property
    def drive_db(self) -> float | None:
        """The drive of the last try; None without a limiter."""
        return self.drives[-1][0] if self.drives else None


@contextmanager
def leave_in_order() -> Iterator[None]:
    """Let this process leave in order when it is told to end, so that nothing half-written stays behind."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGTERM, lambda number, frame: sys.exit(128 + number))
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before if before is not None else signal.SIG_DFL)


def make_moves(mix: Path, plan: BouncePlan, moved: Scratch, watch: Watch) -> None:
    """Make the kept moves on a mix, at the rate that is worked at."""
    with open_sound(str(mix)) as sound:
        blocks: Iterator[Rows] = trim_blocks(sound.read(BLOCK_FRAMES), plan.first_frame, plan.last_frame)
        frames = plan.last_frame - plan.first_frame
        blocks = watch.follow(blocks, frames, 0.0, 1.0, "making the moves")
        blocks = convert_blocks(blocks, sound.form.sample_rate_hz, plan.work_rate_hz)
        if plan.steps:
            blocks = run_blocks(begin_chain(plan.steps, plan.work_rate_hz), blocks)
        for block in blocks:
            moved.write(block.astype(np.float32))


def convert_song(plan: BouncePlan, moved: Scratch, made: Scratch, watch: Watch) -> None:
    """Convert what the moves made to the rate of the file."""
    blocks: Iterator[Rows] = watch.follow(moved.read(BLOCK_FRAMES), moved.frames, 0.0, 1.0, "converting the rate")
    for block in convert_blocks(blocks, plan.work_rate_hz, plan.rate_hz):
        made.write(block.astype(np.float32))


def limit_song(plan: BouncePlan, made: Scratch, limited: Scratch, watch: Watch, correct: bool) -> Limited:
    """Send what the moves made through the limiter and the fades, and measure it.

    Where ``correct`` is true and the loudness of the chosen rung is not met, the drive is put right, a few times at
    most. Where more drive gives no more loudness, the one before it is taken; what is left is measured all the same.
    """
    if plan.push is None:
        return _pass(plan, None, made, limited, watch)
    drives: list[tuple[float, float]] = []
    drive = next(item for item in MOVES[plan.push.move].parameters if item.name == "drive_db")
    drive_db, low = plan.push.settings["drive_db"], 0.0
    spent = False
    for _ in range(MOST_TRIES):
        high = low + 0.7 * (1 - low)
        push = Step(plan.push.move, {**plan.push.settings, "drive_db": drive_db})
        found = _pass(plan, push, made, limited, watch.part(low, high))
        drives.append((drive_db, found.loudness_lufs))
        if spent or not correct or plan.aimed_lufs is None or _is_met(found.loudness_lufs, plan.aimed_lufs):
            break
        spent = _is_spent(drives)
        drive_db = drives[-2][0] if spent else correct_drive(drives, plan.aimed_lufs, drive.low, drive.high)
        if drive_db == drives[-1][0]:
            break
        low = high
    return replace(found, drives=tuple(drives))


def _is_met(loudness_lufs: float, aimed_lufs: float) -> bool:
    """Tell whether a loudness is near enough; silence has none, and is not driven on."""
    away = abs(loudness_lufs - aimed_lufs)
    return away <= CLOSE_LU or not math.isfinite(away)


def _is_spent(drives: list[tuple[float, float]]) -> bool:
    """Tell whether the last drive was more than the one before, and gave next to no more loudness."""
    if len(drives) < 2:
        return False
    (before_db, before_lufs), (drive_db, loudness_lufs) = drives[-2:]
    return drive_db > before_db and loudness_lufs - before_lufs < LEAST_GAIN_LU


def _pass(plan: BouncePlan, push: Step | None, made: Scratch, limited: Scratch, watch: Watch) -> Limited:
    """Send all through the limiter and the fades once."""
    limited.clear()
    words = "limiting" if push else "measuring"
    blocks: Iterator[Rows] = watch.follow(made.read(BLOCK_FRAMES), made.frames, 0.0, 1.0, words)
    if push is not None:
        blocks = run_blocks(begin_chain([push], plan.rate_hz), blocks)
    # The fades belong to the song's loudness: they are made here, so that what is measured is what is delivered.
    blocks = fade_blocks(blocks, made.frames, plan.fades, plan.rate_hz)
    loudness, peaks = measure_blocks(blocks, plan.rate_hz, limited.write)
    return Limited(limited, loudness.integrated_lufs, peaks.true_peak_dbtp, ())


def write_bounce(plan: BouncePlan, sound: Scratch, gain_db: float, place: Path, seed: int, watch: Watch) -> None:
    """Turn by a gain, round with dither as the last thing that is done, and write.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    blocks = turn_blocks(sound.read(BLOCK_FRAMES), gain_db)
    blocks = watch.follow(blocks, sound.frames, 0.0, 1.0, "writing the file")
    ready: Iterator[npt.NDArray[np.generic]] = (
        (block.astype(np.float32) for block in blocks)
        if plan.bit_depth == FLOAT_BITS
        else round_blocks(blocks, plan.bit_depth, np.random.default_rng(seed))
    )
    write_sound(place, ready, sound.frames, plan.rate_hz, plan.bit_depth, plan.file_format)
