"""The limiter against a plain limiter and against one that looks between the samples."""

from __future__ import annotations

import pedalboard

from tests.bench.sounds import cut_song, print_scratch, rows_of
from tests.bench.timing import compare
from trainer.dsp.dynamics.limiter import Limiter
from trainer.dsp.processor import run_through


def main() -> None:
    """Print the limiter's rows."""
    limiter = Limiter()
    for length_s, runs in ((20, 7), (240, 5)):
        clip = limiter.prepare(cut_song(length_s))
        driven = {"drive_db": 10.0}
        rows, rate = rows_of(clip) * 10 ** (10 / 20), clip.rate_hz
        name = "20 s" if length_s == 20 else "4 min"

        def ours(clip=clip, driven=driven) -> object:  # type: ignore[no-untyped-def]
            return run_through(limiter.begin(driven, clip.rate_hz), clip)

        compare(f"limiter, {name}", ours, lambda r=rows, f=rate: pedalboard.Limiter(-1.0)(r, f),
                "a plain limiter", runs)  # fmt: skip
        compare(f"limiter, {name}", ours,
                lambda r=rows, f=rate: pedalboard.BrickwallLimiter(ceiling_db=-1.0, true_peak=True)(r, f),
                "a limiter that looks between samples", runs)  # fmt: skip
        print_scratch(f"limiter, {name}", ours, clip)
    loop = limiter.prepare(cut_song(20))
    compare("limiter's solver, 20 s", lambda: limiter.solve(loop, 6.0, {}),
            lambda: pedalboard.Limiter(-1.0)(rows_of(loop), loop.rate_hz), "a plain limiter")  # fmt: skip
