"""The sounds of the sound check: as loud as they say on other meters, never over the ceiling."""

from __future__ import annotations

import numpy as np
import pytest

from tests.measure.meters import ebur128_dbtp, ebur128_lufs
from trainer.dsp.matching import PLAYED_LUFS
from trainer.exercise.drill import Drill
from trainer.exercise.sound_check import SIDES, SIDES_LUFS, make_sides, make_tone, specify_music
from trainer.measure.true_peak import measure_true_peak
from trainer.workshop.bench import Bench


def read_lufs(sound: np.ndarray, rate_hz: int) -> float:
    """Read integrated loudness with libebur128, an implementation of ITU-R BS.1770 and EBU R 128 of its own."""
    return ebur128_lufs(np.tile(sound, (3, 1)), rate_hz)


@pytest.mark.parametrize("rate_hz", [44100, 48000])
def test_the_noise_is_as_soft_as_it_says(rate_hz: int) -> None:
    """Within 0.1 LU (EBU Tech 3341) on libebur128; 10 dB under the loudness of the drills, and far from the ceiling."""
    middle = make_sides(SIDES_LUFS, rate_hz)[SIDES.index("middle")]
    assert middle.shape == (8 * rate_hz, 2)
    assert read_lufs(middle, rate_hz) == pytest.approx(PLAYED_LUFS - 10.0, abs=0.1)
    assert ebur128_dbtp(middle, rate_hz) <= -1.0


def test_a_level_that_would_not_fit_is_held_under_the_ceiling() -> None:
    """Pink noise at 0 LUFS would clip; it comes as loud as −1 dBTP allows."""
    peak = measure_true_peak(make_sides(0.0, 48000)[SIDES.index("middle")], 48000).dbtp
    assert -1.2 <= peak <= -1.0


def test_sides_are_where_their_names_say() -> None:
    """By construction: one side silent; both alike; one upside down, so that a mono sum is silent."""
    left, right, middle, hollow = make_sides(-30.0, 48000)
    assert not left[:, 1].any() and not right[:, 0].any()
    assert np.array_equal(left[:, 0], right[:, 1]) and np.array_equal(middle[:, 0], middle[:, 1])
    assert np.corrcoef(hollow.T)[0, 1] == pytest.approx(-1.0) and not hollow.sum(axis=1).any()
    # One channel of two that are alike is half of the power: 3.01 LU (ITU-R BS.1770, sum over channels).
    assert read_lufs(middle, 48000) - read_lufs(left, 48000) == pytest.approx(3.01, abs=0.05)


def test_noise_is_pink_and_has_no_seam() -> None:
    """Equal power in each octave within 1 dB; the step over the seam is like any other."""
    noise = make_sides(SIDES_LUFS, 48000)[SIDES.index("middle")][:, 0].astype(np.float64)
    power = np.abs(np.fft.rfft(noise)) ** 2
    hz = np.fft.rfftfreq(noise.size, 1 / 48000)
    octaves = [10 * np.log10(power[(hz >= low) & (hz < 2 * low)].sum()) for low in (125, 250, 500, 1000, 2000, 4000)]
    assert max(octaves) - min(octaves) < 1.0
    assert abs(noise[0] - noise[-1]) < 6 * np.abs(np.diff(noise)).std()


def test_the_tone() -> None:
    """Closed form: 440 whole periods in a second at −30 dBFS, so the loop goes on without a step."""
    tone = make_tone(48000)[0]
    assert np.abs(tone).max() == pytest.approx(10 ** (-30 / 20), rel=1e-3)
    spectrum = np.abs(np.fft.rfft(tone[:, 0]))
    assert spectrum.argmax() == 440 and spectrum[440] > 1000 * np.delete(spectrum, 440).max()


def test_the_music_is_as_loud_as_the_drills(bench: Bench, drills: dict[str, Drill]) -> None:
    """On a bundled song, played round: −20 LUFS within 0.1 LU on libebur128, under −1 dBTP."""
    spec = specify_music(drills, 7)
    assert spec is not None
    trial = bench.make(spec)
    assert read_lufs(trial.sounds[0], trial.rate_hz) == pytest.approx(PLAYED_LUFS, abs=0.1)
    assert ebur128_dbtp(trial.sounds[0], trial.rate_hz) <= -1.0
