"""Mono below a corner: the side loses its bottom, the middle is left alone."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from tests.measure.sounds import noise, sine
from trainer.audio.clip import Clip
from trainer.dsp.processor import run_through
from trainer.dsp.stereo.mono_below import MonoBelow, design_low_pass
from trainer.errors import NotReachable
from trainer.measure.contents import measure_contents

RATE_HZ = 48000
MOVE = MonoBelow()


def _clip(samples: npt.NDArray[np.float64], rate_hz: int = RATE_HZ) -> Clip:
    return Clip(samples.astype(np.float32), rate_hz)


def _spectra(clip: Clip) -> tuple[np.ndarray, np.ndarray]:
    left, right = np.fft.rfft(clip.samples.astype(np.float64), axis=0).T
    return (left + right) / 2, (left - right) / 2


@pytest.mark.parametrize("rate_hz", [44100, 48000])
@pytest.mark.parametrize("corner_hz", [40.0, 120.0, 400.0])
def test_every_line_of_the_side_is_turned_and_none_of_the_middle(corner_hz: float, rate_hz: int) -> None:
    """FFT of a loop, line by line: the side is gone to half the corner, whole from 1.6 of it, half at it, in phase."""
    before = _clip(noise(2 * rate_hz, 0.1, 1), rate_hz)
    after = MOVE.render(before, {"mono_corner_hz": corner_hz})
    (middle, side), (new_middle, new_side) = _spectra(before), _spectra(after)
    np.testing.assert_allclose(new_middle, middle, atol=1e-3 * float(np.abs(middle).mean()))
    ratio, lines = new_side / side, np.fft.rfftfreq(before.frames, 1 / rate_hz)
    assert np.abs(ratio[lines <= 0.45 * corner_hz]).max() < 0.003
    assert np.abs(ratio[lines >= 1.6 * corner_hz] - 1).max() < 0.003
    near = np.abs(lines / corner_hz - 1) < 0.02
    assert np.abs(ratio[near]).mean() == pytest.approx(0.5, abs=0.02)
    assert np.abs(np.angle(ratio[lines > 0.8 * corner_hz])).max() < 0.01


@pytest.mark.parametrize("corner_hz", [60.0, 120.0, 300.0])
def test_the_corner_is_found_again(corner_hz: float) -> None:
    """The move's own reading, on sound turned down as a whole besides: 2 %."""
    before = _clip(noise(4 * RATE_HZ, 0.1, 2))
    full = MOVE.solve(before, corner_hz, {})
    after = MOVE.render(before, full)
    turned = after.with_samples(after.samples.astype(np.float64) * 0.7)
    effect = MOVE.measure(before, turned, full, 20 * np.log10(0.7))
    assert effect.amount == pytest.approx(corner_hz, rel=0.02)
    measured = effect.measured
    assert measured["side_below_corner_before_db"] == pytest.approx(0.0, abs=1.0)
    assert measured["side_below_corner_after_db"] < -10
    assert measured["correlation_after"] > measured["correlation_before"]


def test_out_of_phase_bass_comes_to_the_middle_as_nothing() -> None:
    """Closed form: a bass that is only at the sides goes; a treble that is only there stays; what is in both stays."""
    bass = sine(50.0, 0.2, RATE_HZ, RATE_HZ) * [1.0, -1.0]
    treble = sine(3000.0, 0.2, RATE_HZ, RATE_HZ) * [1.0, -1.0]
    kick = sine(60.0, 0.3, RATE_HZ, RATE_HZ)
    after = MOVE.render(_clip(bass + treble + kick), {"mono_corner_hz": 150.0})
    np.testing.assert_allclose(after.samples, treble + kick, atol=1e-3)


@pytest.mark.parametrize("block_frames", [1, 997, 10000])
def test_blocks_give_what_the_whole_gives(block_frames: int) -> None:
    """By definition of carried state: within −140 dB."""
    song = _clip(noise(9000 if block_frames == 1 else 40000, 0.1, 3))
    whole, blocks = (
        run_through(MOVE.begin({"mono_corner_hz": 200.0}, RATE_HZ), song, size).samples.astype(np.float64)
        for size in (10**6, block_frames)
    )
    assert np.abs(whole - blocks).max() <= 1e-7 * np.abs(whole).max()


def test_the_seam_is_in_steady_state() -> None:
    """Against the middle one of three rounds through the stream: below −120 dBFS."""
    loop = noise(RATE_HZ, 0.1, 4)
    full = {"mono_corner_hz": 40.0}
    steady = MOVE.render(_clip(loop), full).samples.astype(np.float64)
    rounds = run_through(MOVE.begin(full, RATE_HZ), _clip(np.tile(loop, (3, 1)))).samples[RATE_HZ : 2 * RATE_HZ]
    assert np.abs(steady - rounds).max() < 1e-6


def test_the_kernel_is_symmetric_and_whole_at_zero() -> None:
    """Linear phase is symmetry (definition); its sum is its gain at 0 Hz."""
    kernel = design_low_pass(100.0, RATE_HZ)
    assert kernel.size % 2 == 1
    np.testing.assert_allclose(kernel, kernel[::-1], atol=1e-15)
    assert kernel.sum() == pytest.approx(1.0, abs=1e-12)


def test_a_narrow_bass_has_nothing_to_take() -> None:
    """A bass in the middle under wide treble: refused in one line that says how little there is."""
    loop = _clip(sine(60.0, 0.3, RATE_HZ, RATE_HZ) + 0.1 * sine(2000.0, 1.0, RATE_HZ, RATE_HZ) * [1.0, -1.0])
    with pytest.raises(NotReachable, match=r"a side of −24 dB or more below it"):
        MOVE.solve(loop, 120.0, {})


def test_wide_bass_is_what_is_needed() -> None:
    """Common practice, no source: wide noise with bass will do, treble alone will not."""
    wide = noise(4 * RATE_HZ, 0.1, 5).cumsum(axis=0)
    wide = (wide - wide.mean(axis=0)) * 1e-3
    treble = sine(3000.0, 0.1, 4 * RATE_HZ, RATE_HZ) * [1.0, -1.0]
    for samples, met in ((wide, True), (treble, False)):
        contents = measure_contents(samples, RATE_HZ, MOVE.bands_hz({})).cut(0.0, 4.0)
        assert all(need.met for need in MOVE.needs(contents, {})) == met
