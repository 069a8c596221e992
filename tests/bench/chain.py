"""A whole chain on a song against plug-ins of the same kinds, and how much memory it takes."""

from __future__ import annotations

import pedalboard
import pyebur128

from tests.bench.sounds import cut_song, print_scratch, rows_of
from tests.bench.timing import compare
from trainer.audio.clip import Clip
from trainer.dsp.song_chain import Step, render_song
from trainer.measure.loudness import measure_integrated_lufs

STEPS = (
    Step("high_pass", {"cutoff_hz": 25.0}),
    Step("low_shelf", {"corner_hz": 100.0, "gain_db": 1.5}),
    Step("bell", {"centre_hz": 300.0, "centre_gain_db": -1.5}),
    Step("bell", {"centre_hz": 3000.0, "centre_gain_db": 1.0}),
    Step("high_shelf", {"corner_hz": 8000.0, "gain_db": 1.5}),
    Step("saturation", {"thd_percent": 1.0}),
    Step("compressor", {"threshold_dbfs": -16.0, "side_chain_hz": 100.0, "slow_release_ms": 1000.0}),
    Step("limiter", {"drive_db": 8.0}),
)


def master(clip: Clip) -> float:
    """Run our chain and read its loudness."""
    made = render_song(clip, STEPS)
    return measure_integrated_lufs(made.samples, made.rate_hz)


def master_with_plug_ins(clip: Clip) -> float:
    """Run plug-ins of the same kinds: plainer saturation, no side-chain filter, no promise between the samples."""
    board = pedalboard.Pedalboard(
        [
            pedalboard.HighpassFilter(25),
            pedalboard.LowShelfFilter(100, 1.5),
            pedalboard.PeakFilter(300, -1.5),
            pedalboard.PeakFilter(3000, 1.0),
            pedalboard.HighShelfFilter(8000, 1.5),
            pedalboard.Distortion(1.0),
            pedalboard.Compressor(-16, 4, 10, 150),
            pedalboard.Gain(8.0),
            pedalboard.BrickwallLimiter(ceiling_db=-1.0, true_peak=True),
        ]
    )
    made = board(rows_of(clip), clip.rate_hz)
    state = pyebur128.R128State(2, clip.rate_hz, pyebur128.MeasurementMode.MODE_I)
    state.add_frames(made.T.astype("float64").ravel(), made.shape[1])
    return float(pyebur128.get_loudness_global(state))


def main() -> None:
    """Print the chain's rows."""
    for length_s, name, runs in ((20, "20 s", 5), (240, "4 min", 5)):
        clip = cut_song(length_s)
        compare(f"whole chain, {name}", lambda c=clip: master(c), lambda c=clip: master_with_plug_ins(c),  # type: ignore[misc]
                "nine plug-ins and libebur128", runs)  # fmt: skip
        print_scratch(f"whole chain, {name}", lambda c=clip: render_song(c, STEPS), clip)  # type: ignore[misc]
