"""The de-esser: each s turned down as asked, the rest left alone."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import butter, sosfiltfilt

from tests.dsp.dynamics.beats import BEAT_S, make_beat
from tests.measure.sounds import sine
from trainer.audio.clip import Clip
from trainer.dsp.dynamics.band_processors import design_band_pass
from trainer.dsp.dynamics.de_esser import DeEsser
from trainer.dsp.processor import run_through
from trainer.errors import BadValue, NotReachable
from trainer.measure.contents import measure_contents
from trainer.units import db_to_gain

MOVE = DeEsser()


def _loop(rate_hz: int = 48000) -> Clip:
    return make_beat(rate_hz, 4, True)


@pytest.mark.parametrize(("rate_hz", "amount"), [(44100, 1.0), (48000, 3.0), (48000, 8.0)])
def test_what_is_asked_is_measured(rate_hz: int, amount: float) -> None:
    """By the contract: within 0.005 dB."""
    loop = _loop(rate_hz)
    solved = MOVE.solve(loop, amount, {})
    effect = MOVE.measure(loop, MOVE.render(loop, solved), solved)
    assert effect.amount == effect.measured[MOVE.effect_name] == pytest.approx(amount, abs=0.005)


def test_the_s_loses_what_plain_levels_show_and_the_bass_nothing() -> None:
    """Zero-phase bands of scipy in frames of 5 ms: the deepest in each s, known by construction, is 5 dB, within 1."""
    loop = _loop()
    after = MOVE.render(loop, MOVE.solve(loop, 5.0, {}))
    changes = []
    for band in ((5000.0, 9000.0), (40.0, 1000.0)):
        sections = butter(2, band, "bandpass", fs=loop.rate_hz, output="sos")
        powers = []
        for clip in (loop, after):
            power = (sosfiltfilt(sections, clip.samples.astype(float), axis=0) ** 2).sum(axis=1)
            beats = np.roll(power, -round(0.25 * loop.rate_hz)).reshape(-1, round(2 * BEAT_S * loop.rate_hz))
            powers.append(beats[:, : 40 * 240].reshape(beats.shape[0], 40, 240).sum(axis=2))
        changes.append(10 * np.log10(powers[1] / powers[0]))
    assert changes[0].min(axis=1).mean() == pytest.approx(-5.0, abs=1.0)
    assert np.abs(changes[1]).max() < 0.2


@pytest.mark.parametrize("rate_hz", [44100, 48000, 96000])
def test_the_band_pass_has_no_phase_at_its_centre(rate_hz: int) -> None:
    """Closed form: 1 at the centre; half the power where f/f0 − f0/f is ±1/Q, on the bilinear transform's scale."""
    section = design_band_pass(6700.0, 1.7, rate_hz)[0]

    def gain(frequency_hz: float) -> complex:
        z = np.exp(2j * np.pi * frequency_hz / rate_hz)
        return complex(np.polyval(section[:3], z) / np.polyval(section[3:], z))

    assert gain(6700.0) == pytest.approx(1.0, abs=1e-12)
    for side in (-1, 1):
        ratio = side / 3.4 + np.sqrt(1 / 3.4**2 + 1)
        # The cookbook's Q holds for bandwidth measured along tan(ω/2).
        edge = rate_hz / np.pi * np.arctan(ratio * np.tan(np.pi * 6700.0 / rate_hz))
        assert abs(gain(float(edge))) ** 2 == pytest.approx(0.5, abs=1e-9)


def test_a_steady_tone_at_the_centre_obeys_the_curve() -> None:
    """Closed form: 12 dB over, 4 : 1, hard knee: 9 dB at the centre; a tone at 500 Hz keeps its level."""
    tones = sine(6700.0, 0.25, 96000, 48000) + sine(500.0, 0.25, 96000, 48000)
    loop = Clip(tones.astype(np.float32), 48000)
    after = MOVE.render(loop, {"threshold_dbfs": 20 * np.log10(0.25) - 12, "knee_db": 0.0, "attack_ms": 20.0})
    was, became = (np.abs(np.fft.rfft(clip.samples[:, 0].astype(float))) for clip in (loop, after))
    assert 20 * np.log10(became[13400] / was[13400]) == pytest.approx(-9.0, abs=0.5)
    assert 20 * np.log10(became[1000] / was[1000]) == pytest.approx(0.0, abs=0.05)


def test_nothing_asked_is_the_loop_itself() -> None:
    """Bit for bit."""
    np.testing.assert_array_equal(MOVE.render(_loop(), MOVE.solve(_loop(), 0.0, {})).samples, _loop().samples)


def test_a_whole_song_streams_to_the_same() -> None:
    """Against the round in steady state: the last of three rounds, in blocks; −120 dB."""
    loop = _loop()
    solved = MOVE.solve(loop, 5.0, {})
    song = Clip(np.tile(loop.samples, (3, 1)), loop.rate_hz)
    last = run_through(MOVE.begin(solved, loop.rate_hz), song, 9000).samples[-loop.frames :]
    assert np.abs(last - MOVE.render(loop, solved).samples).max() < 1e-6
    assert MOVE.run_up_s(solved) > 12 * 0.06


def test_a_level_between_the_versions_does_not_count() -> None:
    """By construction."""
    loop = _loop()
    solved = MOVE.solve(loop, 3.0, {})
    after = MOVE.render(loop, solved)
    turned = after.with_samples(after.samples * db_to_gain(4.0))
    plain, matched = MOVE.measure(loop, after, solved), MOVE.measure(loop, turned, solved, 4.0)
    assert matched.measured == pytest.approx(plain.measured, abs=1e-3)


def test_what_cannot_be_had_is_said() -> None:
    """By construction: too much, no s, silence, no number, a centre beyond the band."""
    with pytest.raises(NotReachable, match="at most"):
        MOVE.solve(_loop(), 80.0, {})
    low = Clip(sine(200.0, 0.3, 96000, 48000, fade_s=0.5).astype(np.float32), 48000)
    with pytest.raises(NotReachable, match="sibilants"):
        MOVE.solve(low, 3.0, {})
    with pytest.raises(BadValue, match="peak_dbfs"):
        MOVE.solve(Clip(np.zeros((48000, 2), np.float32), 48000), 1.0, {})
    with pytest.raises(BadValue, match="amount"):
        MOVE.solve(_loop(), float("nan"), {})
    with pytest.raises(BadValue, match="centre_hz"):
        MOVE.begin({"centre_hz": 10000.0}, 22050)


def test_s_sounds_are_needed() -> None:
    """By construction: a loop with them, and one without."""
    for sibilants in (True, False):
        loop = make_beat(48000, 4, sibilants)
        contents = measure_contents(loop.samples, loop.rate_hz).cut(0.0, loop.duration_s)
        assert all(need.met for need in MOVE.needs(contents, {})) == sibilants
