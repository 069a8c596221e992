"""All filters as moves: what was asked is in the sound, by a transform of this test's own."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from tests.dsp.equaliser.analogue import wish_db
from tests.measure.meters import long_dbtp_of_loop
from tests.measure.sounds import music_like, noise, sine
from trainer.audio.clip import Clip
from trainer.dsp.equaliser.filter_move import FilterMove
from trainer.dsp.equaliser.moves import EQUALISER_MOVES
from trainer.dsp.move import complete_settings
from trainer.dsp.processor import Chain, run_through
from trainer.errors import BadValue
from trainer.measure.contents import measure_contents

RATE_HZ = 48000
MOVES = {move.name: move for move in EQUALISER_MOVES}
CASES: tuple[tuple[str, float, dict[str, float]], ...] = (
    ("low_shelf", 3.0, {"corner_hz": 100.0}),
    ("low_shelf", -6.0, {"corner_hz": 60.0}),
    ("low_shelf", 0.5, {"corner_hz": 400.0}),
    ("high_shelf", 2.0, {"corner_hz": 8000.0}),
    ("high_shelf", -9.0, {"corner_hz": 2000.0}),
    ("bell", 3.0, {"centre_hz": 300.0, "bell_q": 0.7}),
    ("bell", -6.0, {"centre_hz": 3000.0, "bell_q": 1.0}),
    ("bell", 9.0, {"centre_hz": 1000.0, "bell_q": 4.0}),
    ("bell", 1.0, {"centre_hz": 10000.0, "bell_q": 0.5}),
    ("tilt", 2.0, {}),
    ("tilt", -6.0, {"pivot_hz": 600.0}),
    ("high_pass", 20.0, {}),
    ("high_pass", 40.0, {"slope_per_octave_db": 24.0}),
    ("high_pass", 80.0, {"slope_per_octave_db": 12.0}),
)


def _clip(samples: npt.NDArray[np.float64], rate_hz: int = RATE_HZ) -> Clip:
    return Clip(samples.astype(np.float32), rate_hz)


def _full(move: FilterMove, amount: float, settings: dict[str, float]) -> dict[str, float]:
    return move.solve(_clip(np.zeros((10, 2))), amount, settings)


@pytest.mark.parametrize("rate_hz", [44100, 48000])
@pytest.mark.parametrize("name,amount,settings", CASES)
def test_every_line_of_noise_is_turned_as_the_curve_says(
    name: str, amount: float, settings: dict[str, float], rate_hz: int
) -> None:
    """Ratio of two FFTs of a loop, line by line and unsmoothed, against the analogue curve by scipy.signal.freqs."""
    move = MOVES[name]
    before = _clip(noise(2 * rate_hz, 0.1, 1), rate_hz)
    full = _full(move, amount, settings)
    after = move.render(before, full)
    lines = np.fft.rfftfreq(before.frames, 1 / rate_hz)
    heard = (lines >= 20) & (lines <= 20000)
    ratio = np.abs(np.fft.rfft(after.samples[:, 0])[heard] / np.fft.rfft(before.samples[:, 0])[heard])
    miss = np.abs(20 * np.log10(ratio) - wish_db(name, lines[heard].astype(np.float64), full))
    assert np.median(miss) < 0.02
    assert np.percentile(miss, 99.9) < 0.1


@pytest.mark.parametrize("name,amount,settings", CASES)
def test_the_amount_is_found_again_in_music(name: str, amount: float, settings: dict[str, float]) -> None:
    """The move's own reading on music-like sound, turned down besides: 0.05 dB, or 1 % of a frequency."""
    move = MOVES[name]
    before = _clip(music_like(4 * RATE_HZ, RATE_HZ, 1))
    full = _full(move, amount, settings)
    after = move.render(before, full)
    turned = after.with_samples(after.samples.astype(np.float64) * 10 ** (-2.5 / 20))
    effect = move.measure(before, turned, full, -2.5)
    allowed = 0.01 * amount if move.unit == "Hz" else 0.05
    assert effect.amount == pytest.approx(amount, abs=allowed)
    assert effect.measured[move.effect_name] == effect.amount
    assert next(iter(effect.measured)) == move.effect_name
    assert effect.measured["level_change_db"] == pytest.approx(-2.5, abs=0.05)
    assert effect.measured["worst_deviation_db"] < 0.2
    assert all(sentence.endswith(".") for sentence in effect.sentences)


@pytest.mark.parametrize("name,amount,settings", CASES)
def test_an_amount_is_read_whatever_the_settings_say(name: str, amount: float, settings: dict[str, float]) -> None:
    """The reading must not lean on the asked amount: settings with another amount give the same figure."""
    move = MOVES[name]
    before = _clip(noise(RATE_HZ, 0.1, 2))
    full = _full(move, amount, settings)
    after = move.render(before, full)
    lie = {**full, move.effect_name: move.parameters[0].high if move.unit == "Hz" else -amount}
    assert move.measure(before, after, lie).amount == pytest.approx(move.measure(before, after, full).amount, abs=1e-6)


@pytest.mark.parametrize("name,amount,settings", CASES)
def test_pictures_show_both_curves(name: str, amount: float, settings: dict[str, float]) -> None:
    """Third octaves of white noise against the analogue curve's mean power in each band, and the asked curve."""
    move = MOVES[name]
    before = _clip(noise(4 * RATE_HZ, 0.1, 3))
    full = _full(move, amount, settings)
    effect = move.measure(before, move.render(before, full), full)
    level = effect.measured["level_change_db"]
    asked, measured = np.array(effect.picture.asked), np.array(effect.picture.measured)
    np.testing.assert_allclose(asked[:, 1] - level, wish_db(name, asked[:, 0], full), atol=1e-6)
    assert measured.shape == (31, 2)
    for centre_hz, gain_db in measured:
        band = np.linspace(centre_hz * 10**-0.05, centre_hz * 10**0.05, 50)
        wished = 10 * np.log10(np.mean(10 ** (wish_db(name, band, full) / 10)))
        # Below 100 Hz a band holds few lines of noise, and they weigh a slope unevenly.
        if wished > -12:
            assert gain_db - level == pytest.approx(wished, abs=0.1 if centre_hz > 100 else 0.6)


@pytest.mark.parametrize("name,amount,settings", CASES)
def test_the_seam_is_in_steady_state(name: str, amount: float, settings: dict[str, float]) -> None:
    """Against the third round of the same filter over the repeated loop: below −120 dBFS."""
    move, loop = MOVES[name], music_like(RATE_HZ, RATE_HZ, 5) + 0.05
    full = _full(move, amount, settings)
    steady = move.render(_clip(loop), full).samples.astype(np.float64)
    third = run_through(move.begin(full, RATE_HZ), _clip(np.tile(loop, (3, 1)))).samples[2 * RATE_HZ :]
    assert np.abs(steady - third).max() < 1e-6


@pytest.mark.parametrize("block_frames", [1, 97])
def test_blocks_give_what_the_whole_gives(block_frames: int) -> None:
    """By definition of carried state: within −140 dB."""
    song = _clip(noise(1000, 0.1, 6))
    for name, amount, settings in CASES:
        full = _full(MOVES[name], amount, settings)
        whole, blocks = (
            run_through(MOVES[name].begin(full, RATE_HZ), song, size).samples.astype(np.float64)
            for size in (10**6, block_frames)
        )
        assert np.abs(whole - blocks).max() <= 1e-7 * np.abs(whole).max()


def test_filters_run_together_as_one_by_one() -> None:
    """Linear filters in a row (closed form): the chain, which joins them, equals one run after the other."""
    song = _clip(music_like(RATE_HZ, RATE_HZ, 7))
    bands = [(MOVES[name], _full(MOVES[name], amount, settings)) for name, amount, settings in CASES[::3]]
    merged = run_through(Chain(tuple(move.begin(full, RATE_HZ) for move, full in bands)), song).samples
    chain = song
    for move, full in bands:
        chain = run_through(move.begin(full, RATE_HZ), chain)
    np.testing.assert_allclose(merged, chain.samples, atol=1e-6)


@pytest.mark.parametrize("name", ["low_shelf", "high_shelf", "bell", "tilt"])
def test_nothing_asked_is_the_loop_bit_for_bit(name: str) -> None:
    """A zero amount must not change a bit, neither in a loop nor in a stream."""
    loop = _clip(noise(9600, 0.1, 8))
    full = _full(MOVES[name], 0.0, {})
    np.testing.assert_array_equal(MOVES[name].render(loop, full).samples, loop.samples)
    np.testing.assert_array_equal(run_through(MOVES[name].begin(full, RATE_HZ), loop).samples, loop.samples)


def test_a_high_pass_tells_what_became_of_the_peak() -> None:
    """A long true-peak meter on either side; a square wave's top leans and overshoots; a later gain does not count."""
    time = np.arange(RATE_HZ) / RATE_HZ
    square = sum(np.sin(2 * np.pi * 50 * k * time) / k for k in range(1, 60, 2))
    before = _clip(0.3 * np.stack([square, square], axis=1))
    move, full = MOVES["high_pass"], complete_settings(MOVES["high_pass"], {"cutoff_hz": 20.0})
    after = move.render(before, full)
    wished = long_dbtp_of_loop(after.samples) - long_dbtp_of_loop(before.samples)
    turned = after.with_samples(after.samples.astype(np.float64) * 10 ** (-2.0 / 20))
    effect = move.measure(before, turned, full, -2.0)
    assert wished > 0.5
    assert effect.measured["peak_change_db"] == pytest.approx(wished, abs=0.05)


def test_a_high_pass_tells_what_lay_below() -> None:
    """Closed form: a sine 20 dB below another is 20.04 dB below their sum; 24 dB an octave less after the filter."""
    samples = sine(1000.0, 0.5, RATE_HZ, RATE_HZ) + sine(10.0, 0.05, RATE_HZ, RATE_HZ)
    move = MOVES["high_pass"]
    full = complete_settings(move, {"cutoff_hz": 20.0, "slope_per_octave_db": 24.0})
    measured = move.measure(_clip(samples), move.render(_clip(samples), full), full).measured
    assert measured["level_below_cutoff_before_db"] == pytest.approx(-20.04, abs=0.01)
    assert measured["level_below_cutoff_after_db"] == pytest.approx(-20.0 - 24.1, abs=0.1)


@pytest.mark.parametrize("slope_db", [12.0, 24.0])
@pytest.mark.parametrize("cutoff_hz", [20.0, 33.0, 110.0])
def test_a_high_pass_is_three_db_down_where_it_says(cutoff_hz: float, slope_db: float) -> None:
    """Definition of Butterworth's cut-off, by the fit and by the crossing of the measured curve: 1 and 2 %."""
    move, before = MOVES["high_pass"], _clip(noise(8 * RATE_HZ, 0.1, 4))
    full = complete_settings(move, {"cutoff_hz": cutoff_hz, "slope_per_octave_db": slope_db})
    measured = move.measure(before, move.render(before, full), full).measured
    assert measured["cutoff_hz"] == pytest.approx(cutoff_hz, rel=0.01)
    assert measured["three_db_down_hz"] == pytest.approx(cutoff_hz, rel=0.02)


def test_slopes_are_two() -> None:
    """A slope between the two is refused in one line."""
    with pytest.raises(BadValue, match=r"slope_per_octave_db=18.*one of 12, 24"):
        complete_settings(MOVES["high_pass"], {"slope_per_octave_db": 18.0})


@pytest.mark.parametrize("name", sorted(MOVES))
def test_full_music_holds_what_is_needed_and_a_thin_tone_does_not(name: str) -> None:
    """Common practice, no source: a beat with bass and top will do for every filter; a sine elsewhere will not."""
    move, full = MOVES[name], complete_settings(MOVES[name], {})
    song = music_like(8 * RATE_HZ, RATE_HZ, 9).astype(np.float32)
    tone = sine(440.0 if name == "high_shelf" else 3000.0, 0.3, 8 * RATE_HZ, RATE_HZ).astype(np.float32)
    for samples, met in ((song, True), (tone, False)):
        contents = measure_contents(samples, RATE_HZ, move.bands_hz(full)).cut(0.0, 8.0)
        assert all(need.met for need in move.needs(contents, full)) == met
