"""What is measured of a bounce is what a check measures of the file, in less time."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from scipy.signal import resample_poly

from tests.measure.meters import ebur128_dbtp, ebur128_lufs
from tests.measure.recordings import RATE_HZ, cut_song
from tests.measure.sounds import noise
from trainer.audio.file_form import FileForm
from trainer.decisions.bounce_meter import BounceMeter
from trainer.decisions.evidence import Evidence
from trainer.measure.faults.scan import scan_faults
from trainer.measure.lag_search import REDUCED_HZ, _reduce
from trainer.measure.peak_trace import PeakMeter, PeakTrace
from trainer.measure.steps import block_frames

Sound = npt.NDArray[np.floating]
SONG = cut_song("slack_water_voltage", 30.0, 14.0)


def cut_blocks(samples: Sound, rate_hz: int = RATE_HZ) -> list[npt.NDArray[np.float32]]:
    """Cut a sound to blocks as a file is read."""
    length = block_frames(rate_hz)
    return [
        np.ascontiguousarray(samples[first : first + length].T, dtype=np.float32)
        for first in range(0, samples.shape[0], length)
    ]


def measure(samples: Sound) -> Evidence:
    """Measure a sound as a bounce."""
    meter = BounceMeter(FileForm("a.wav", "WAV", "FLOAT", RATE_HZ, 2, samples.shape[0], 32))
    for block in cut_blocks(samples):
        meter.add(block)
    return meter.finish()


def read_peaks(samples: Sound, only_highest: bool, rate_hz: int = RATE_HZ) -> PeakTrace:
    """Read the peaks of a sound."""
    meter = PeakMeter(rate_hz, 2, only_highest)
    for block in cut_blocks(samples, rate_hz):
        meter.add(block)
    return meter.finish()


@pytest.mark.parametrize("drive", [0.3, 1.0, 4.0])
def test_figures_and_faults_are_those_of_the_whole_measurement(drive: float) -> None:
    """Outside meter: libebur128. Beside it our own whole measurement, with faults: the same to 1e-6 dB."""
    samples = np.asarray(np.tanh(drive * SONG) * 1.05, dtype=np.float32)
    samples[5 * RATE_HZ] += 0.6
    samples += 0.002 * np.sin(2 * np.pi * 50 * np.arange(samples.shape[0]) / RATE_HZ)[:, None].astype(np.float32)
    found = measure(samples)
    programme, scan = scan_faults(samples, RATE_HZ)
    assert found.programme.loudness.integrated_lufs == pytest.approx(ebur128_lufs(samples, RATE_HZ), abs=0.1)
    assert found.programme.peaks.true_peak_dbtp == pytest.approx(ebur128_dbtp(samples, RATE_HZ), abs=0.3)
    assert found.programme.loudness.integrated_lufs == programme.loudness.integrated_lufs
    assert found.programme.peaks.true_peak_dbtp == pytest.approx(programme.peaks.true_peak_dbtp, abs=1e-6)
    ratios = [one.dynamics.peak_to_loudness_db for one in (found.programme, programme)]
    assert ratios[0] == pytest.approx(ratios[1], abs=1e-6)
    assert [(fault.kind, fault.start_s, fault.end_s, fault.channel) for fault in found.scan.faults] == [
        (fault.kind, fault.start_s, fault.end_s, fault.channel) for fault in scan.faults
    ]
    # The float32 products of other groups of rows may differ by their last bit.
    for one, other in zip(found.scan.faults, scan.faults, strict=True):
        assert one.strength == pytest.approx(other.strength, abs=1e-5)


@pytest.mark.parametrize("rate_hz", [44100, 48000, 96000, 192000])
@pytest.mark.parametrize("kind", ["noise", "signs", "quarter", "song"])
def test_the_highest_peak_is_missed_by_no_bound(rate_hz: int, kind: str) -> None:
    """Worst cases: white noise, random signs, and a sine at fs/4 between its samples.

    Closed form: that sine is 3.01 dB over its samples, and at its cut end a hair more.
    """
    count = 6 * rate_hz
    samples = {
        "noise": 0.3 * noise(count, 1.0, 3),
        "signs": 0.7 * np.sign(noise(count, 1.0, 4)),
        "quarter": np.tile(0.9 * np.sin(np.pi / 2 * np.arange(count) + np.pi / 4)[:, None], (1, 2)),
        "song": 1.7 * SONG[:count],
    }[kind]
    # A fade in: the highest is not met at once.
    samples = samples * np.linspace(0.2, 1, samples.shape[0])[:, None]
    plain, quick = (read_peaks(samples, only, rate_hz) for only in (False, True))
    assert quick.true_peak_dbtp == pytest.approx(plain.true_peak_dbtp, abs=1e-5)
    over = plain.true > 1.0001
    assert np.allclose(quick.true[over], plain.true[over], atol=2e-6) and not (quick.true > 1.0001)[~over].any()
    if kind == "quarter":
        assert quick.true_peak_dbtp == pytest.approx(20 * np.log10(0.9), abs=0.2)


@pytest.mark.parametrize("rate_hz", [44100, 48000])
def test_the_sketch_is_reduced_as_scipy_does(rate_hz: int) -> None:
    """Outside: scipy's `resample_poly`, to the rounding of float32, at any length."""
    step = round(rate_hz / REDUCED_HZ)
    for count in (100003, 12 * step, 7):
        row = noise(count, 1.0, 5)[:, 0].astype(np.float32)
        assert np.abs(_reduce(row, step) - resample_poly(row, 1, step)).max() < 1e-5
