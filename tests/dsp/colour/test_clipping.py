"""Clipping: closed forms of a clipped sine, and peaks read from a wave drawn out by its Fourier series."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from tests.measure.sounds import music_like, sine
from trainer.audio.clip import Clip
from trainer.dsp.colour.ceilings import SoftClip, SoftCorner
from trainer.dsp.colour.clipping import Clipping
from trainer.dsp.colour.moves import MOVES_OF_COLOUR
from trainer.dsp.processor import run_through
from trainer.errors import BadValue, NotReachable

MOVES = {move.name: move for move in MOVES_OF_COLOUR if isinstance(move, Clipping)}
RATE_HZ = 48000


def _loop(samples: npt.NDArray[np.float64], rate_hz: int = RATE_HZ) -> Clip:
    return Clip(samples.astype(np.float32), rate_hz)


def _draw_out(clip: Clip) -> npt.NDArray[np.float64]:
    """Give the loop's wave at 16 times the rate from its Fourier series, the higher magnitude of both channels."""
    lines = np.fft.rfft(clip.samples.astype(float), axis=0)
    return np.asarray(np.abs(np.fft.irfft(lines, n=16 * clip.frames, axis=0) * 16).max(axis=1))


def _read_off_peaks_db(before: Clip, after: Clip) -> float:
    """Compare the highest peaks, one to a second, 100 ms apart, with the highest of what is left 1.5 ms around them."""
    was, became = _draw_out(before), _draw_out(after)
    left, lost = was.copy(), []
    for _ in range(round(before.duration_s)):
        place = int(left.argmax())
        around = slice(max(0, place - 24 * 48), place + 24 * 48)
        lost.append(20 * np.log10(was[place] / became[around].max()))
        left[max(0, place - 1600 * 48) : place + 1600 * 48] = 0
    return float(np.mean(lost))


@pytest.mark.parametrize("name", sorted(MOVES))
@pytest.mark.parametrize("amount_db", [0.5, 6.0])
def test_what_was_asked_is_in_the_sound(name: str, amount_db: float) -> None:
    """Peaks of a Fourier series 16 times drawn out, against the move's own reading: both as asked, within 0.1 dB."""
    move = MOVES[name]
    before = move.prepare(_loop(music_like(2 * RATE_HZ, RATE_HZ, 1)))
    settings = move.solve(before, amount_db, {})
    after = move.render(before, settings)
    effect = move.measure(before, after.with_samples(after.samples * 0.5), settings, 20 * np.log10(0.5))
    assert effect.amount == effect.measured["off_peaks_db"] == pytest.approx(amount_db, abs=0.02)
    assert _read_off_peaks_db(before, after) == pytest.approx(amount_db, abs=0.1)
    assert effect.picture.kind == "reduction"
    assert max(value for _, value in effect.picture.measured) >= amount_db - 0.05


@pytest.mark.parametrize("over_db", [1.0, 3.0, 6.0])
def test_a_hard_clipped_sine_follows_its_closed_form(over_db: float) -> None:
    """Fourier series of a clipped sine. With r the clip point over the peak, and a peak of 1:

    the fundamental is 2/π (asin r + r √(1−r²)), the mean square 1/π (asin r − r √(1−r²)) + r² (1 − 2/π asin r), and
    clipped is a share of 2/π acos r.
    """
    move, peak = MOVES["hard_clip"], 0.5
    before = _loop(sine(200.0, peak, RATE_HZ, RATE_HZ))
    settings = {"clip_point_dbfs": 20 * np.log10(peak) - over_db}
    effect = move.measure(before, move.render(before, settings), settings)
    r = 10 ** (-over_db / 20)
    edge = r * np.sqrt(1 - r * r)
    fundamental = 2 / np.pi * (np.arcsin(r) + edge)
    square = (np.arcsin(r) - edge) / np.pi + r * r * (1 - 2 / np.pi * np.arcsin(r))
    added = 100 * np.sqrt(square / (fundamental**2 / 2) - 1)
    assert effect.amount == pytest.approx(over_db, abs=0.05)
    assert effect.measured["added_percent"] == pytest.approx(added, rel=0.01)
    # A sample counts from a tenth of a dB on.
    share = 2 / np.pi * np.arccos(r * 10 ** (0.1 / 20))
    assert effect.measured["shaved_share_percent"] == pytest.approx(100 * share, abs=1.0)
    assert effect.measured["longest_run_samples"] == pytest.approx(share * 120, abs=2)
    assert effect.measured["mean_run_samples"] == pytest.approx(share * 120, abs=2)


def test_a_softly_clipped_sine_follows_the_curve() -> None:
    """The curve written out: the sample itself below half the level, half of the level and a tanh of the rest above."""
    level = 10 ** (-6 / 20)
    x = sine(200.0, 0.8, RATE_HZ, RATE_HZ)
    wished = np.sign(x) * np.where(
        np.abs(x) < level / 2, np.abs(x), level / 2 * (1 + np.tanh(np.abs(x) / (level / 2) - 1))
    )
    after = run_through(SoftClip(-6.0, RATE_HZ), _loop(x), 4096).samples
    assert np.abs(after - wished)[200:-200].max() < 1e-4


def test_the_soft_curve_never_passes_its_level() -> None:
    """Contract of the docstring, at the higher rate: whatever goes in, the level at most."""
    waves = np.linspace(-50, 50, 40001, dtype=np.float32)[None]
    added = np.empty_like(waves)
    SoftCorner(0.5).write_added(waves, added)
    assert np.abs(waves.astype(float) + added).max() <= 0.5 + 1e-5


@pytest.mark.parametrize(("drive_db", "most_db"), [(0.0, 0.3), (6.0, 1.5), (12.0, 3.0)])
def test_filters_swing_little_above_the_soft_level(drive_db: float, most_db: float) -> None:
    """Gibbs' phenomenon on a driven beat: bounds of this test's own, for what a limiter behind has to take."""
    song = MOVES["soft_clip"].prepare(_loop(music_like(96000, RATE_HZ, 1) * 10 ** (drive_db / 20)))
    clipped = run_through(SoftClip(-6.0, RATE_HZ), song)
    assert 20 * np.log10(np.abs(clipped.samples).max()) < -6.0 + most_db


@pytest.mark.parametrize("name", sorted(MOVES))
def test_nothing_asked_is_the_loop_bit_for_bit(name: str) -> None:
    """A zero amount must not change a bit."""
    move = MOVES[name]
    before = move.prepare(_loop(music_like(48000, RATE_HZ, 1)))
    after = move.render(before, move.solve(before, 0.0, {}))
    np.testing.assert_array_equal(after.samples, before.samples)
    effect = move.measure(before, after, {})
    assert effect.amount == 0 and effect.measured["longest_run_samples"] == 0


@pytest.mark.parametrize("name", sorted(MOVES))
def test_aliases_of_a_clipped_sine_stay_low(name: str) -> None:
    """From the FFT of a 3 kHz sine 3 dB over: no line but its harmonics within 80 dB, to 20 kHz."""
    tone = _loop(sine(2999.0, 0.5, RATE_HZ, RATE_HZ))
    settings = MOVES[name].solve(tone, 3.0, {})
    lines = 20 * np.log10(np.abs(np.fft.rfft(MOVES[name].render(tone, settings).samples[:, 0].astype(float))) + 1e-9)
    level = lines[2999]
    lines[::2999] = -np.inf
    assert lines[:20001].max() - level < -80


@pytest.mark.parametrize("name", sorted(MOVES))
def test_bad_amounts_and_silence_are_refused_in_one_line(name: str) -> None:
    """House rule for errors."""
    loop = _loop(music_like(48000, RATE_HZ, 1))
    for bad in (-1.0, float("nan"), float("inf")):
        with pytest.raises(BadValue):
            MOVES[name].solve(loop, bad, {})
    with pytest.raises(BadValue):
        MOVES[name].solve(_loop(np.zeros((4800, 2))), 1.0, {})
    with pytest.raises((BadValue, NotReachable)) as caught:
        MOVES[name].solve(loop, 200.0, {})
    assert "\n" not in str(caught.value)
