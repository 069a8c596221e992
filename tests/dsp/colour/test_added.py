"""What was added, against closed forms."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pytest

from tests.measure.sounds import music_like, noise
from trainer.audio.clip import Clip
from trainer.dsp.colour.added import AddedMeter, measure_added
from trainer.errors import BadValue

Wave = npt.NDArray[np.float64]
RATE_HZ, FRAMES = 48000, 96000


def _clip(samples: Wave) -> Clip:
    stereo = samples if samples.ndim == 2 else np.stack([samples, samples], axis=1)
    return Clip(stereo.astype(np.float32), RATE_HZ)


def _tone(frequency_hz: float, peak: float) -> Wave:
    return np.asarray(peak * np.sin(2 * np.pi * frequency_hz * np.arange(FRAMES) / RATE_HZ))


def _squash(x: Wave) -> Wave:
    return np.asarray(x - 0.2 * x**2 - 0.3 * x**3)


def _push(x: Wave) -> Wave:
    return np.asarray(np.tanh(2 * x + 0.2))


@pytest.mark.parametrize("gain_db", [0.0, -9.0])
def test_on_a_sine_it_is_total_harmonic_distortion(gain_db: float) -> None:
    """Closed form of a sine through a polynomial; the loss of the sine itself, and any gain, do not count."""
    peak = 0.8
    x = _tone(997.0, peak)
    first, second, third = peak - 0.3 * 0.75 * peak**3, 0.2 * peak**2 / 2, 0.3 * peak**3 / 4
    added = measure_added(_clip(x), _clip(_squash(x) * 10 ** (gain_db / 20)))
    assert added.percent == pytest.approx(100 * np.hypot(second, third) / first, rel=1e-3)
    assert added.main_octave_hz == 2000.0
    assert added.below_song_db == pytest.approx(20 * np.log10(np.hypot(second, third) / first), abs=0.01)


def test_on_two_tones_of_unlike_level_each_ones_own_loss_is_left_out() -> None:
    """Closed form, by averaging the curve over both phases: all power but the two tones' own is what was added."""
    a, b = 0.7, 0.2
    low, high = a * np.sin(2 * np.pi * np.arange(64) / 64), b * np.sin(2 * np.pi * np.arange(64) / 64)
    out = _squash(low[:, None] + high[None, :])
    kept = [2 * (out * tone).mean() / peak for tone, peak in ((low[:, None], a), (high[None, :], b))]
    song = (kept[0] ** 2 + kept[1] ** 2) / 2
    wished = 100 * np.sqrt((out.var() - song) / song)
    # The small tone loses more than the large one, so that a single gain would leave some of it over.
    assert kept[1] / b < 0.95 * kept[0] / a
    before = _tone(210.0, a) + _tone(3137.0, b)
    assert measure_added(_clip(before), _clip(_squash(before))).percent == pytest.approx(wished, rel=2e-3)


def test_on_normal_noise_it_is_what_bussgangs_theorem_leaves() -> None:
    """J. J. Bussgang, 1952 (from memory): y = E[f'(x)] x + rest. Means over the normal distribution by sums."""
    sigma = 0.3
    lines = np.fft.rfft(noise(FRAMES, 1.0, 5), axis=0)
    hz = np.fft.rfftfreq(FRAMES, 1 / RATE_HZ)
    lines[(hz > 2500) | (hz < 60)] = 0
    x = np.fft.irfft(lines, FRAMES, axis=0)
    x *= sigma / x.std(axis=0)
    grid = np.linspace(-8, 8, 20001) * sigma
    weight = np.exp(-0.5 * (grid / sigma) ** 2)
    weight /= weight.sum()
    slope = float((weight * _push(grid) * grid).sum()) / sigma**2
    variance = float((weight * _push(grid) ** 2).sum() - (weight * _push(grid)).sum() ** 2)
    wished = 100 * np.sqrt(variance / (slope * sigma) ** 2 - 1)
    assert measure_added(_clip(x), _clip(_push(x))).percent == pytest.approx(wished, rel=0.02)


def test_a_known_addition_is_read_as_it_was_made() -> None:
    """By construction: noise 30 dB below the song, under a song turned down by 4 dB."""
    song, extra = music_like(FRAMES, RATE_HZ, 4), noise(FRAMES, 1.0, 61)
    lines = np.fft.rfft(extra, axis=0)
    lines[np.fft.rfftfreq(FRAMES, 1 / RATE_HZ) > 19000] = 0
    extra = np.fft.irfft(lines, FRAMES, axis=0)
    extra *= 10 ** (-30 / 20) * np.sqrt((song**2).mean() / (extra**2).mean())
    after = _clip((song + extra) * 10 ** (-4 / 20))
    assert measure_added(_clip(song), after).below_song_db == pytest.approx(-30.0, abs=0.05)
    taken = AddedMeter(_clip(song)).separate(after) * 10 ** (4 / 20)
    assert np.sqrt(((taken - extra) ** 2).mean() / (extra**2).mean()) < 0.05


def test_a_gain_and_a_tone_control_add_nothing() -> None:
    """By definition: a gain for each octave and channel, with its edges where octaves meet, is no addition."""
    song = music_like(FRAMES, RATE_HZ, 4)
    assert measure_added(_clip(song), _clip(song * 0.5)).percent < 1e-3
    lines = np.fft.rfft(song, axis=0)
    lines[np.fft.rfftfreq(FRAMES, 1 / RATE_HZ) > 2000 * np.sqrt(2)] *= 0.6
    lines[:, 1] *= 1.4
    assert measure_added(_clip(song), _clip(np.fft.irfft(lines, FRAMES, axis=0))).percent < 1e-3


def test_a_held_note_keeps_its_overtones_counted() -> None:
    """The hardest case, overtones on the lines of one note that never moves: a single gain leaves all, octaves a third.

    In the lowest octaves such a note has one line each, where an overtone and a change of tone are the same.
    """
    note = np.zeros(FRAMES)
    for partial in range(1, 30):
        note += _tone(110.0 * partial, 0.3 / partial) * (-1) ** partial
    bent = np.tanh(2 * note) / 2
    plain = np.dot(note, bent) / np.dot(note, note) * note
    most = 100 * np.sqrt(((bent - plain) ** 2).mean() / (plain**2).mean())
    assert 0.3 * most < measure_added(_clip(note), _clip(bent)).percent <= most * 1.001


def test_the_trace_follows_what_was_added() -> None:
    """By construction: a burst of 5 kHz, 20 dB below the song's mean, in the second quarter only."""
    song = _tone(200.0, 0.5)
    burst = _tone(5000.0, 0.05) * ((np.arange(FRAMES) >= 24000) & (np.arange(FRAMES) < 48000))
    trace = np.array(AddedMeter(_clip(song)).trace(_clip(song + burst)))
    inside = (trace[:, 0] > 0.55) & (trace[:, 0] < 0.95)
    np.testing.assert_allclose(trace[inside, 1], -20.0, atol=0.1)
    assert trace[trace[:, 0] > 1.1, 1].max() < -60


def test_music_reads_alike_whatever_the_bands() -> None:
    """On a beat with changing sounds one gain for all, octaves, and third octaves by own sums agree within 1.5 dB."""
    song = music_like(FRAMES, RATE_HZ, 4)
    bent = np.tanh(1.5 * song)
    read = measure_added(_clip(song), _clip(bent)).below_song_db
    x, y = np.fft.rfft(song, axis=0), np.fft.rfft(bent, axis=0)
    hz = np.fft.rfftfreq(FRAMES, 1 / RATE_HZ)
    for edges in ([16.0, 20000.0], [16.0, *(1000 * 2 ** ((k - 0.5) / 3) for k in range(-14, 13)), 20000.0]):
        kept = rest = 0.0
        for low, high in pairwise(edges):
            here = (hz >= low) & (hz < high)
            gain = (x[here].conj() * y[here]).sum(axis=0) / (np.abs(x[here]) ** 2).sum(axis=0)
            kept += float((np.abs(gain * x[here]) ** 2).sum())
            rest += float((np.abs(y[here] - gain * x[here]) ** 2).sum())
        assert read == pytest.approx(10 * np.log10(rest / kept), abs=1.5)


@pytest.mark.parametrize("frames", [1, 2, 37, 1000])
def test_no_sound_is_refused_and_short_loops_are_finite(frames: int) -> None:
    """House rule: a clear line, or a defined result."""
    with pytest.raises(BadValue):
        measure_added(Clip(np.zeros((frames, 2), np.float32), RATE_HZ), Clip(np.ones((frames, 2), np.float32), RATE_HZ))
    short = Clip(noise(frames, 0.1, 1).astype(np.float32), RATE_HZ)
    try:
        assert np.isfinite(measure_added(short, short).percent)
    except BadValue as error:
        assert "\n" not in str(error)
