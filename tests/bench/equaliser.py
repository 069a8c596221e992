"""Filters against a general-purpose library's plug-ins of the same kinds."""

from __future__ import annotations

import itertools

import pedalboard

from tests.bench.sounds import cut_song, print_scratch, rows_of
from tests.bench.timing import compare
from trainer.dsp.equaliser.bell import Bell
from trainer.dsp.equaliser.bells import design_bell
from trainer.dsp.equaliser.filter_move import FilterMove
from trainer.dsp.equaliser.high_pass import HighPass
from trainer.dsp.equaliser.high_shelf import HighShelf
from trainer.dsp.equaliser.low_shelf import LowShelf
from trainer.dsp.equaliser.tilt import Tilt
from trainer.dsp.equaliser.tilts import design_tilt
from trainer.dsp.processor import Chain, run_round, run_through

BANDS: tuple[tuple[FilterMove, dict[str, float]], ...] = (
    (LowShelf(), {"corner_hz": 100.0, "gain_db": 2.0}),
    (Bell(), {"centre_hz": 300.0, "centre_gain_db": -2.0}),
    (Bell(), {"centre_hz": 800.0, "centre_gain_db": 1.0}),
    (Bell(), {"centre_hz": 3000.0, "centre_gain_db": 1.5}),
    (HighShelf(), {"corner_hz": 8000.0, "gain_db": 1.5}),
)


def begin(rate_hz: int) -> Chain:
    """Begin the five bands."""
    return Chain(tuple(move.begin(settings, rate_hz) for move, settings in BANDS))


def main() -> None:
    """Print the equaliser's rows."""
    five = pedalboard.Pedalboard(  # type: ignore[attr-defined]
        [
            pedalboard.LowShelfFilter(100.0, 2.0),
            *(pedalboard.PeakFilter(f, g, 0.7) for f, g in ((300.0, -2.0), (800.0, 1.0), (3000.0, 1.5))),
            pedalboard.HighShelfFilter(8000.0, 1.5),
        ]
    )
    for length_s, runs in ((20, 9), (240, 5)):
        clip = cut_song(length_s)
        rows, rate = rows_of(clip), clip.rate_hz
        run_up = round(max(move.run_up_s(settings) for move, settings in BANDS) * rate)

        def bands(clip=clip, rate=rate, run_up=run_up) -> object:  # type: ignore[no-untyped-def]
            if clip.duration_s > 60:
                return run_through(begin(rate), clip)
            return run_round(lambda: begin(rate), clip, run_up)

        name = "20 s, in steady state" if length_s == 20 else "4 min"
        compare(f"five bands, {name}", bands, lambda r=rows, f=rate: five(r, f), "five filters", runs)  # type: ignore[misc]
        print_scratch(f"five bands, {name}", bands, clip)
    loop = cut_song(20)
    rows, rate = rows_of(loop), loop.rate_hz
    for name, move, settings, plugin in (
        ("one shelf", HighShelf(), {"gain_db": 1.5}, pedalboard.HighShelfFilter(8000.0, 1.5)),
        ("tilt", Tilt(), {"tilt_db": 2.0}, five),
        ("high-pass, 24 dB an octave", HighPass(), {"slope_per_octave_db": 24.0}, pedalboard.HighpassFilter(30.0)),
    ):
        against = "five filters" if plugin is five else "one filter"
        compare(f"{name}, 20 s", lambda m=move, s=settings: m.render(loop, s),  # type: ignore[misc]
                lambda p=plugin: p(rows, rate), against)  # type: ignore[misc]  # fmt: skip
    gains = itertools.count(1)
    for name, design in (
        ("a bell's design", lambda: design_bell(9000.0, 12.0 / next(gains), 0.7, rate)),
        ("a tilt's design", lambda: design_tilt(1000.0, 12.0 / next(gains), rate)),
    ):
        compare(name, design, lambda: five(rows, rate), "five filters on 20 s")
