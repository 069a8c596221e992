"""The limiter as a move: the reduction asked for is in the sound, and nothing else is."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt
import pytest

from tests.measure.sounds import music_like, noise, sine
from trainer.audio.clip import Clip
from trainer.dsp.band_limit import design_band_limit
from trainer.dsp.dynamics.limiter import Limiter
from trainer.errors import BadValue, EvenhandError, NotReachable

MOVE = Limiter()


@lru_cache(maxsize=8)
def _prepared(seconds: float = 4.0, rate_hz: int = 48000, seed: int = 1) -> Clip:
    song = music_like(int(seconds * rate_hz), rate_hz, seed)
    return MOVE.prepare(Clip(song.astype(np.float32), rate_hz))


def _reduction_on_hits_db(before: Clip, after: Clip, drive_db: float) -> float:
    """Recompute: RMS of input over output each millisecond; mean of the deepest, one to a second, 100 ms apart."""
    length = before.rate_hz // 1000
    steps = before.frames // length
    levels = [
        10 * np.log10((c.samples[: steps * length].astype(float) ** 2).reshape(steps, -1).mean(axis=1) + 1e-20)
        for c in (before, after)
    ]
    trace = (levels[0] - levels[1] + drive_db).tolist()
    picked: list[float] = []
    for _ in range(round(before.duration_s)):
        place = max(range(steps), key=trace.__getitem__)
        picked.append(trace[place])
        for near in range(max(0, place - 100), min(steps, place + 101)):
            trace[near] = -np.inf
    return float(np.mean(picked))


@pytest.mark.parametrize("rate_hz", [44100, 48000])
@pytest.mark.parametrize("amount_db", [0.5, 2.0, 4.0, 8.0])
def test_asked_measured_and_recomputed_agree(amount_db: float, rate_hz: int) -> None:
    """The definition, recomputed from RMS levels a millisecond at a time: within 0.1 dB of asked and of measured."""
    before = _prepared(rate_hz=rate_hz)
    settings = MOVE.solve(before, amount_db, {})
    after = MOVE.render(before, settings)
    measured = MOVE.measure(before, after, settings).amount
    assert measured == pytest.approx(amount_db, abs=0.1)
    recomputed = _reduction_on_hits_db(before, after, settings["drive_db"])
    assert recomputed == pytest.approx(measured, abs=0.1)


def test_a_level_change_afterwards_is_not_taken_for_reduction() -> None:
    """Closed form: what was turned down as a whole by 7 dB, and said so, reads the same."""
    before = _prepared()
    settings = MOVE.solve(before, 3.0, {})
    after = MOVE.render(before, settings)
    lower = after.with_samples(after.samples * 10 ** (-7 / 20))
    there, here = (MOVE.measure(before, c, settings, g).amount for c, g in ((after, 0.0), (lower, -7.0)))
    assert here == pytest.approx(there, abs=1e-3)


def test_hits_lose_against_the_song() -> None:
    """Common practice, no source: a limiter turns hits down more than what lies between them."""
    before = _prepared()
    settings = MOVE.solve(before, 8.0, {})
    measured = MOVE.measure(before, MOVE.render(before, settings), settings).measured
    assert measured["hits_over_song_after_db"] < measured["hits_over_song_before_db"] - 0.5


@pytest.mark.parametrize("drive_db", [-6.0, 0.0, 3.0])
def test_below_the_ceiling_only_the_drive_is_heard(drive_db: float) -> None:
    """Closed form: where nothing comes near the ceiling the output is the input times one factor, to float32's bit."""
    before = Clip((0.3 * sine(997.0, 1.0, 9600, 48000)).astype(np.float32), 48000)
    after = MOVE.render(before, {"drive_db": drive_db})
    wished = (before.samples.astype(np.float64) * 10 ** (drive_db / 20)).astype(np.float32)
    np.testing.assert_array_equal(after.samples, wished)


def test_too_much_asked_is_refused_in_one_line() -> None:
    """24 dB of drive into the ceiling cannot give 40 dB of reduction (closed form)."""
    with pytest.raises(NotReachable) as caught:
        MOVE.solve(_prepared(2.0), 40.0, {})
    assert "\n" not in str(caught.value) and "at most" in str(caught.value)


def test_a_negative_amount_is_refused_in_one_line() -> None:
    """A limiter cannot turn up; the error must be one a person can read."""
    with pytest.raises(EvenhandError):
        MOVE.solve(_prepared(1.0), -1.0, {})


def test_both_sides_get_one_gain() -> None:
    """A linked limiter keeps the image: the ratio of both sides is that of the input (definition)."""
    before = _prepared(2.0)
    wide = before.with_samples(before.samples * np.array([1.0, 0.5]))
    after = MOVE.render(wide, {"drive_db": 10.0}).samples.astype(np.float64)
    loud = np.abs(wide.samples).min(axis=1) > 0.05
    gains = after[loud] / wide.samples[loud]
    np.testing.assert_allclose(gains[:, 0], gains[:, 1], rtol=1e-4)


def test_length_and_place_are_kept() -> None:
    """The look-ahead is made up for: the best fit of output to input is at no delay (cross-correlation)."""
    before = _prepared(2.0)
    after = MOVE.render(before, {"drive_db": 6.0})
    assert after.frames == before.frames
    spectra = [np.fft.rfft(c.samples[:, 0].astype(np.float64)) for c in (after, before)]
    assert int(np.fft.irfft(spectra[0] * np.conj(spectra[1])).argmax()) == 0


def _third_round(loop: Clip, settings: dict[str, float]) -> npt.NDArray[np.float32]:
    three = loop.with_samples(np.tile(loop.samples, (3, 1)))
    return MOVE.render(three, settings).samples[2 * loop.frames :]


def test_the_loop_sounds_as_in_its_third_round() -> None:
    """Against the third round of the same limiter over the repeated loop, default releases: below −100 dBFS."""
    loop = _prepared(4.0)
    settings = {"drive_db": 8.0}
    rest = MOVE.render(loop, settings).samples.astype(np.float64) - _third_round(loop, settings)
    assert 20 * np.log10(np.abs(rest).max() + 1e-30) < -100


@pytest.mark.parametrize("slow_release_ms", [600.0, 1300.0])
def test_a_lone_hit_is_remembered_round_the_seam(slow_release_ms: float) -> None:
    """Against the third round: a hit four and a half seconds before the seam still holds slow releases down a little.

    The gain must not be further off than 0.1 dB, 1.2 % of amplitude, at the head of the loop.
    """
    quiet = noise(8 * 48000, 0.01, 3)
    quiet[144000:172800] += sine(400.0, 0.8, 28800, 48000)
    loop = MOVE.prepare(Clip(quiet.astype(np.float32), 48000))
    settings = {"drive_db": 14.0, "slow_release_ms": slow_release_ms}
    one, third = (
        s[:4800].astype(np.float64) for s in (MOVE.render(loop, settings).samples, _third_round(loop, settings))
    )
    gain = (one * third).sum() / (third * third).sum()
    assert 20 * np.log10(gain) == pytest.approx(0.0, abs=0.1)


def test_the_band_limit_goes_round_the_seam() -> None:
    """Against the middle one of three rounds, filtered with numpy's convolution."""
    loop = Clip(noise(4800, 0.1, 5).astype(np.float32), 48000)
    endless = np.convolve(np.tile(loop.samples[:, 0].astype(np.float64), 3), design_band_limit(48000), "same")
    np.testing.assert_allclose(MOVE.prepare(loop).samples[:, 0], endless[4800:9600], atol=1e-7)


@pytest.mark.parametrize(
    "settings",
    [{"ceiling_dbtp": 0.5}, {"release_ms": 1.0}, {"drive_db": float("nan")}, {"threshold_db": -10.0}],
)
def test_bad_settings_are_refused_in_one_line(settings: dict[str, float]) -> None:
    """The contract of the docstring of the settings."""
    with pytest.raises(BadValue) as caught:
        MOVE.render(_prepared(0.5), settings)
    assert "\n" not in str(caught.value)
