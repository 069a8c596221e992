"""The compressor under way against a loop value by value, definitions, and another compressor."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from tests.dsp.dynamics.compressor_steps import follow_by_steps, high_pass_by_steps, static_reduction_db
from tests.measure.sounds import music_like, noise, sine
from trainer.audio.clip import Clip
from trainer.dsp.dynamics.compression import Ballistics, Compression, Curve, count_run_up
from trainer.dsp.dynamics.compressor_processor import CompressorProcessor, GainRider
from trainer.dsp.dynamics.follower import ReductionFollower, Release
from trainer.dsp.processor import run_round, run_through

RATE_HZ = 48000
CURVE = Curve(-24.0, 4.0, 6.0)
PLAIN = Compression(CURVE, Ballistics(0.01, 0.1))
SLOW = Compression(CURVE, Ballistics(0.003, 0.08, 1.5), 120.0)
ALL = (PLAIN, SLOW, Compression(Curve(-30.0, 20.0, 0.0), Ballistics(0.0001, 0.005)))


def _clip(seconds: float, seed: int = 1, rate_hz: int = RATE_HZ) -> Clip:
    return Clip(music_like(int(seconds * rate_hz), rate_hz, seed).astype(np.float32), rate_hz)


@pytest.mark.parametrize("rate_hz", [22050, 44100, 48000, 192000])
@pytest.mark.parametrize("compression", ALL)
def test_the_whole_is_the_loop_value_by_value(compression: Compression, rate_hz: int) -> None:
    """Giannoulis, Massberg and Reiss, JAES 60(6), 2012, curve and detector, programmed a sample at a time: 1e-9 dB."""
    # The samples are what counts here; at another rate they only sound higher or lower.
    rows = music_like(48000, 48000, 3).T[:, : rate_hz // 2].copy()
    steering = rows
    if compression.side_chain_hz:
        steering = np.stack([high_pass_by_steps(row, compression.side_chain_hz, rate_hz) for row in rows])
    levels = 20 * np.log10(np.maximum(np.abs(steering).max(axis=0), 1e-10))
    curve, times = compression.curve, compression.ballistics
    wished = [static_reduction_db(v, curve.threshold_dbfs, curve.ratio_to_1, curve.knee_db) for v in levels.tolist()]
    loop = follow_by_steps(np.array(wished), rate_hz, times.attack_s, times.release_s, times.slow_release_s)
    np.testing.assert_allclose(GainRider(compression, rate_hz).ride(rows), loop, atol=1e-9)
    out = CompressorProcessor(compression, rate_hz).process(rows)
    np.testing.assert_allclose(out, rows * 10 ** (-loop / 20), atol=1e-12)
    assert loop.max() > 3.0


@pytest.mark.parametrize("compression", ALL)
def test_blocks_of_any_size_give_the_same(compression: Compression) -> None:
    """Against the whole at once: −150 dB of full scale, in blocks of 1 to 70,000 frames by lot."""
    clip = _clip(3.0)
    whole = CompressorProcessor(compression, RATE_HZ).process(clip.samples.T.astype(np.float64))
    processor, rng, parts, start = CompressorProcessor(compression, RATE_HZ), np.random.default_rng(1), [], 0
    while start < clip.frames:
        size = int(rng.choice([1, 2, 15, 16, 17, 480, 4096, 70000]))
        parts.append(processor.process(clip.samples[start : start + size].T.astype(np.float64)))
        start += size
    assert 20 * np.log10(np.abs(np.concatenate(parts, axis=1) - whole).max() + 1e-20) < -150


def test_the_attack_takes_63_percent_in_its_time() -> None:
    """Definition of a time constant: a step of the wish is followed to 1 − 1/e within 1 % of the time asked."""
    for attack_s in (0.001, 0.01, 0.1):
        step = np.full(RATE_HZ, 10.0)
        followed = ReductionFollower(Ballistics(attack_s, 0.2), 1 / RATE_HZ).follow(step)
        reached = np.interp(10 * (1 - np.exp(-1)), followed, (np.arange(RATE_HZ) + 1) / RATE_HZ)
        assert reached == pytest.approx(attack_s, rel=0.01)


def _recovery_s(ballistics: Ballistics, burst_s: float) -> float:
    """Time until 63 % of the reduction is back after a burst."""
    wished = np.zeros(int((burst_s + 8) * RATE_HZ))
    end = int(burst_s * RATE_HZ)
    wished[:end] = 10.0
    followed = ReductionFollower(ballistics, 1 / RATE_HZ).follow(wished)[end - 1 :]
    return float(np.argmax(followed < followed[0] * np.exp(-1))) / RATE_HZ


def test_the_release_is_as_asked_and_about_the_attack() -> None:
    """Closed form: two one-poles one after the other, 1/e where (r e^(−t/r) − a e^(−t/a)) / (r − a) is 1/e."""
    attack, release = 0.01, 0.1
    time = np.linspace(0, 1, 1000001)
    left = (release * np.exp(-time / release) - attack * np.exp(-time / attack)) / (release - attack)
    wished = float(time[np.argmax(left < np.exp(-1))])
    assert wished == pytest.approx(release + attack, rel=0.01)
    assert _recovery_s(Ballistics(attack, release), 1.0) == pytest.approx(wished, rel=0.01)


def test_what_was_held_for_long_comes_back_slowly() -> None:
    """Programme dependence, by construction: a short burst returns with the release, a long one with the slow one."""
    ballistics = Ballistics(0.01, 0.1, 1.5)
    short, long = _recovery_s(ballistics, 0.1), _recovery_s(ballistics, 3.0)
    assert 0.11 < short < 0.2
    assert long == pytest.approx(1.5, rel=0.03)


def test_the_closed_form_holds_over_four_minutes() -> None:
    """Steady wishes of 10 ms each, up to 50 dB and more: rise at once, else an exponential, exactly: 1e-9 dB."""
    wishes = np.maximum(np.random.default_rng(5).normal(-10, 25, 24000), 0.0)
    held = np.repeat(wishes, 480)
    Release(0.005, 1 / RATE_HZ).hold(held)
    left, last = float(np.exp(-480 / (0.005 * RATE_HZ))), 0.0
    for number, wish in enumerate(wishes.tolist()):
        last = wish if wish >= last else wish + (last - wish) * left
        assert abs(held[number * 480 + 479] - last) < 1e-9


def _measure_harmonic(compression: Compression, frequency_hz: float) -> float:
    """Third harmonic against the fundamental, dB."""
    wave = sine(frequency_hz, 0.5, 2 * RATE_HZ, RATE_HZ)
    out = CompressorProcessor(compression, RATE_HZ).process(wave.T.copy())[0, RATE_HZ:]
    spectrum = np.abs(np.fft.rfft(out))
    return float(20 * np.log10(spectrum[round(3 * frequency_hz)] / spectrum[round(frequency_hz)]))


def test_low_notes_stay_clean() -> None:
    """50 Hz at −6 dBFS, 18 dB over, 4 : 1, 10 and 100 ms: third harmonic −52 dB or less; a faster release gives more.

    A detector that branches between attack and release has five times as much; common practice, no source.
    """
    slow = Compression(Curve(-24.0, 4.0, 0.0), Ballistics(0.01, 0.1))
    fast = Compression(Curve(-24.0, 4.0, 0.0), Ballistics(0.001, 0.02))
    assert _measure_harmonic(slow, 50.0) < -52.0
    assert _measure_harmonic(fast, 50.0) > _measure_harmonic(slow, 50.0) + 12.0


@pytest.mark.parametrize("compression", [PLAIN, SLOW, Compression(CURVE, Ballistics(0.005, 3.0))])
def test_the_seam_is_in_steady_state(compression: Compression) -> None:
    """The rendered round against the third of three rounds from silence, twenty seconds on: −90 dB of full scale."""
    loop = _clip(4.0)
    rendered = run_round(lambda: CompressorProcessor(compression, RATE_HZ), loop, count_run_up(compression, loop))
    many = np.tile(loop.samples, (6, 1))
    played = CompressorProcessor(compression, RATE_HZ).process(many.T.astype(np.float64))[:, -loop.frames :].T
    assert 20 * np.log10(np.abs(rendered.samples - played).max()) < -90


def test_silence_stays_silent_and_soft_sounds_are_not_touched() -> None:
    """Bit for bit: below the knee the gain is 1."""
    soft = Clip((1e-3 * noise(RATE_HZ, 0.3, 2)).astype(np.float32), RATE_HZ)
    for compression in (PLAIN, SLOW):
        np.testing.assert_array_equal(
            run_through(CompressorProcessor(compression, RATE_HZ), soft).samples, soft.samples
        )
        silence = CompressorProcessor(compression, RATE_HZ).process(np.zeros((2, 100000)))
        assert not silence.any()


def test_channels_share_one_gain() -> None:
    """By construction: a loud left side turns the right one down by the same factor."""
    rows = np.stack([sine(500.0, 0.9, RATE_HZ, RATE_HZ)[:, 0], sine(900.0, 0.01, RATE_HZ, RATE_HZ)[:, 0]])
    out = CompressorProcessor(PLAIN, RATE_HZ).process(rows)
    with np.errstate(invalid="ignore"):
        left, right = out / rows
    heard = np.abs(rows).min(axis=0) > 1e-4
    np.testing.assert_allclose(left[heard], right[heard], rtol=1e-9)


def test_another_compressor_agrees_in_order() -> None:
    """pedalboard's compressor: more over the threshold or more ratio is more reduction in both, within 1.5 dB."""
    pedalboard = pytest.importorskip("pedalboard")
    ours: list[float] = []
    theirs: list[float] = []
    for over_db, ratio in ((6.0, 2.0), (6.0, 4.0), (12.0, 4.0), (12.0, 10.0), (18.0, 10.0)):
        wave = sine(1000.0, 10 ** ((-30.0 + over_db) / 20), RATE_HZ, RATE_HZ)
        board = pedalboard.Pedalboard([pedalboard.Compressor(-30.0, ratio, 10.0, 100.0)])
        other = board(wave.T.astype(np.float32), RATE_HZ)
        compression = Compression(Curve(-30.0, ratio, 0.0), Ballistics(0.01, 0.1))
        own = CompressorProcessor(compression, RATE_HZ).process(wave.T.copy())
        ours.append(_reduction(wave.T, own))
        theirs.append(_reduction(wave.T, other))
    assert np.argsort(ours).tolist() == np.argsort(theirs).tolist() == sorted(range(5))
    np.testing.assert_allclose(ours, theirs, atol=1.5)


def _reduction(before: npt.NDArray[np.floating], after: npt.NDArray[np.floating]) -> float:
    tail = slice(RATE_HZ // 2, None)
    return float(-10 * np.log10(np.mean(after[0, tail] ** 2.0) / np.mean(before[0, tail] ** 2.0)))
