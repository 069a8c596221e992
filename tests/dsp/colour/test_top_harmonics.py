"""Overtones of the top: new ones above, none below, more when it is loud."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from tests.dsp.colour.test_saturation import read_added_percent
from tests.measure.sounds import music_like, sine
from trainer.audio.clip import Clip
from trainer.dsp.colour.bend import find_bend, predict_harmonics
from trainer.dsp.colour.top_harmonics import TopHarmonics
from trainer.errors import BadValue

MOVE = TopHarmonics()
RATE_HZ = 48000
PLAIN = {"corner_hz": 4000.0, "mix_percent": 100.0, "level_dbfs": -12.0}


def _loop(samples: npt.NDArray[np.float64]) -> Clip:
    return Clip(samples.astype(np.float32), RATE_HZ)


def _lines_db(clip: Clip) -> npt.NDArray[np.float64]:
    """Amplitudes of whole Hz in a second, dBFS."""
    size = np.abs(np.fft.rfft(clip.samples[:RATE_HZ, 0].astype(float))) * 2 / RATE_HZ
    return np.asarray(20 * np.log10(np.maximum(size, 1e-9)))


@pytest.mark.parametrize("percent", [0.3, 2.0, 8.0])
@pytest.mark.parametrize("corner_hz", [2500.0, 6000.0])
def test_what_was_asked_is_in_the_sound(percent: float, corner_hz: float) -> None:
    """Least squares in time against the move's own reading in frequency: both as asked, within 0.1 dB."""
    before = MOVE.prepare(_loop(music_like(48000, RATE_HZ, 1)))
    settings = MOVE.solve(before, percent, {"corner_hz": corner_hz})
    after = MOVE.render(before, settings)
    effect = MOVE.measure(before, after.with_samples(after.samples * 0.5), settings, 20 * np.log10(0.5))
    assert read_added_percent(before, after) == pytest.approx(percent, rel=0.0115)
    assert effect.amount == effect.measured["added_percent"] == pytest.approx(percent, rel=0.0115)
    assert effect.measured["added_main_octave_hz"] >= corner_hz


def test_a_note_above_the_corner_gets_its_overtones() -> None:
    """Harmonics by definition: 10 and 15 kHz for a 5 kHz sine, each within 1 dB of the curve's own, filtered.

    Butterworth's closed form: the filters ahead pass 5 kHz less 10 lg(1 + 0.8⁸) dB, those behind their own share.
    """
    tone = _loop(sine(5000.0, 0.25, 2 * RATE_HZ, RATE_HZ))
    lines = _lines_db(MOVE.render(tone, PLAIN))
    reached = 0.25 / np.sqrt(1 + (4000 / 5000) ** 8)
    harmonics = predict_harmonics(find_bend(0.10, 0.70, 10 ** (-12 / 20)), reached)
    for number in (2, 3):
        wished = abs(harmonics[number - 1]) / np.sqrt(1 + (4000 / (5000 * number)) ** 4)
        # The filters are made for the rate, and lean towards Nyquist.
        assert lines[5000 * number] == pytest.approx(20 * np.log10(wished), abs=1.0)


def test_a_note_below_the_corner_is_left_alone() -> None:
    """Butterworth's closed form: 500 Hz is 72 dB down at three octaves; bent, next to nothing is left of it."""
    tone = _loop(sine(500.0, 0.25, RATE_HZ, RATE_HZ))
    after = MOVE.render(tone, PLAIN).samples.astype(float)
    assert 20 * np.log10(np.abs(after - tone.samples).max() / 0.25) < -100


def test_differences_of_tones_stay_out_of_the_middle() -> None:
    """5 and 6 kHz make a difference at 1 kHz by the curve's x²; it comes 20 dB or more below their sum at 11 kHz."""
    pair = _loop(sine(5000.0, 0.15, RATE_HZ, RATE_HZ) + sine(6000.0, 0.15, RATE_HZ, RATE_HZ))
    lines = _lines_db(MOVE.render(pair, PLAIN))
    assert lines[11000] > -60
    assert lines[1000] < lines[11000] - 20


def test_it_comes_and_goes_with_loud_moments() -> None:
    """The series of the curve: 20 dB less sound has 20 dB less second harmonic against it, where a shelf lifts both."""
    shares = []
    for peak in (0.02, 0.2):
        lines = _lines_db(MOVE.render(_loop(sine(5000.0, peak, RATE_HZ, RATE_HZ)), {**PLAIN, "thd_percent": 3.0}))
        shares.append(lines[10000] - lines[5000])
    assert shares[1] - shares[0] == pytest.approx(20.0, abs=1.5)


def test_nothing_asked_is_the_loop_bit_for_bit() -> None:
    """A zero amount must not change a bit."""
    before = MOVE.prepare(_loop(music_like(48000, RATE_HZ, 1)))
    np.testing.assert_array_equal(MOVE.render(before, MOVE.solve(before, 0.0, {})).samples, before.samples)
    np.testing.assert_array_equal(MOVE.render(before, {"thd_percent": 0.0}).samples, before.samples)


def test_the_loop_sounds_as_in_its_third_round() -> None:
    """Against the third round of the same move over the repeated loop: below −120 dBFS, seam and all."""
    loop = music_like(RATE_HZ, RATE_HZ, 5)
    settings = {"corner_hz": 1000.0, "mix_percent": 200.0}
    steady = MOVE.render(_loop(loop), settings).samples.astype(float)
    third = MOVE.render(_loop(np.tile(loop, (3, 1))), settings).samples[2 * RATE_HZ :]
    assert 20 * np.log10(np.abs(steady - third).max() + 1e-30) < -120


def test_silence_has_no_overtones_to_ask_for() -> None:
    """House rule for errors."""
    with pytest.raises(BadValue):
        MOVE.solve(_loop(np.zeros((4800, 2))), 1.0, {})
