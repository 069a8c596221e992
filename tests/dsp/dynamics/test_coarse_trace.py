"""The coarse trace against the full one."""

from __future__ import annotations

import numpy as np
import pytest

from tests.dsp.dynamics.beats import make_beat
from tests.dsp.dynamics.test_compressor import read_reduction
from trainer.dsp.dynamics.coarse_trace import CoarseTrace
from trainer.dsp.dynamics.compression import Ballistics, Compression, Curve
from trainer.dsp.dynamics.compressor_processor import CompressorProcessor
from trainer.dsp.processor import run_round


@pytest.mark.parametrize("rate_hz", [44100, 48000])
@pytest.mark.parametrize(
    "compression",
    [
        Compression(Curve(-20.0, 4.0, 6.0), Ballistics(0.01, 0.15)),
        Compression(Curve(-25.0, 8.0, 3.0), Ballistics(0.003, 0.08, 1.5), 120.0),
    ],
)
def test_it_stays_near_what_the_rendered_sound_shows(compression: Compression, rate_hz: int) -> None:
    """Output over input frame by frame: means within 0.05 dB, the deepest within 0.15 dB."""
    loop = make_beat(rate_hz)
    coarse = CoarseTrace(loop, compression).reduce(compression)
    after = run_round(lambda: CompressorProcessor(compression, rate_hz), loop, 10 * rate_hz)
    read = read_reduction(loop, after)
    assert coarse.step_s == pytest.approx(0.001, rel=0.003)
    assert coarse.reduction_db.mean() == pytest.approx(read.mean(), abs=0.05)
    assert coarse.reduction_db.max() == pytest.approx(read.max(), abs=0.15)


def test_powers_are_those_of_the_steps() -> None:
    """By hand, for one step."""
    loop = make_beat()
    trace = CoarseTrace(loop, Compression(Curve(0.0, 4.0, 0.0), Ballistics(0.01, 0.1)))
    step = loop.samples[48 * 100 : 48 * 101].astype(float)
    assert trace.power[100] == pytest.approx((step**2).sum())
    assert trace.weighted_power.shape == trace.power.shape == (4000,)
    assert trace.peak_dbfs == pytest.approx(20 * np.log10(np.abs(loop.samples).max()))
