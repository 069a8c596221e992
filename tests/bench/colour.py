"""Moves that bend the wave, oversampled, against a general-purpose library's distortion, which is not."""

from __future__ import annotations

from collections.abc import Callable

import pedalboard

from tests.bench.sounds import cut_song, print_scratch, rows_of
from tests.bench.timing import compare
from trainer.dsp.colour.bend import Bend
from trainer.dsp.colour.ceilings import SoftClip, begin_hard_clip
from trainer.dsp.colour.oversampling import Beside, begin_added
from trainer.dsp.colour.saturation import begin_bend
from trainer.dsp.processor import Processor, run_through

BEND = Bend(1.0, 0.1)
PATHS: tuple[tuple[str, Callable[[int], Processor]], ...] = (
    ("bend, 4 times", lambda rate_hz: Beside(begin_added(BEND.write_added, 4, rate_hz))),
    ("bend, 8 times", lambda rate_hz: Beside(begin_added(BEND.write_added, 8, rate_hz))),
    ("saturation as played", lambda rate_hz: begin_bend(BEND, rate_hz)),
    ("soft clip, 4 times", lambda rate_hz: SoftClip(-6.0, rate_hz)),
    ("hard clip, 8 times", lambda rate_hz: begin_hard_clip(-6.0, rate_hz)),
)


def main() -> None:
    """Print the rows of the moves that colour."""
    board = pedalboard.Pedalboard([pedalboard.Distortion(0.0)])
    for length_s, runs in ((20, 9), (240, 5)):
        clip = cut_song(length_s)
        rows, rate = rows_of(clip), clip.rate_hz
        length = "20 s" if length_s == 20 else "4 min"
        for name, begin in PATHS if length_s == 20 else PATHS[2:3]:

            def ours(begin=begin, clip=clip) -> object:  # type: ignore[no-untyped-def]
                return run_through(begin(clip.rate_hz), clip)

            compare(f"{name}, {length}", ours, lambda r=rows, f=rate: board(r, f), "distortion at 1 time", runs)  # type: ignore[misc]
            print_scratch(f"{name}, {length}", ours, clip)


if __name__ == "__main__":
    main()
