"""A ceiling on sounds that are hard on meters."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt
import pytest

from tests.measure.meters import ebur128_dbtp, ffmpeg_dbtp, long_dbtp_of_loop
from tests.measure.sounds import music_like, noise, sine
from trainer.audio.clip import Clip
from trainer.dsp.dynamics.ceiling import hold_ceiling
from trainer.dsp.dynamics.limiter import Limiter

MOVE = Limiter()
RATE_HZ, FRAMES = 48000, 96000
CEILING_DBTP = -1.0


@lru_cache(maxsize=4)
def _prepare_song(name: str, place: int, rate_hz: int = RATE_HZ) -> Clip:
    return MOVE.prepare(Clip(_song(name, place, rate_hz).astype(np.float32), rate_hz))


def _song(name: str, place: int, rate_hz: int = RATE_HZ) -> npt.NDArray[np.float64]:
    """Make one of two songs: a beat with air up to the end of the band, and the same squashed and brighter."""
    song = music_like(2 * rate_hz, rate_hz, 10 * place)
    if name == "open":
        return song + 0.02 * noise(song.shape[0], 1.0, place)
    return np.asarray(0.7 * np.tanh(3.0 * song + 0.06 * noise(song.shape[0], 1.0, place)))


def _read_all(loop: npt.NDArray[np.float32], rate_hz: int) -> tuple[float, float]:
    """Read the long meter of the tests round the loop, and libebur128 on a round with its faded neighbours."""
    fade = np.linspace(0, 1, 960)[:, None]
    around = np.concatenate([loop[-960:] * fade, loop, loop[:960] * fade[::-1]])
    return long_dbtp_of_loop(loop), ebur128_dbtp(around, rate_hz)


@pytest.mark.parametrize("name", ["open", "dense"])
@pytest.mark.parametrize("place", range(6))
@pytest.mark.parametrize("drive_db", [3.0, 8.0, 14.0])
def test_music_stays_below_on_two_meters(name: str, place: int, drive_db: float) -> None:
    """A 16-times, 160-tap float64 meter and libebur128: both at or below the ceiling, in 36 cases."""
    rate_hz = 44100 if place == 5 else RATE_HZ
    loop = _prepare_song(name, place, rate_hz)
    limited = MOVE.render(loop, {"drive_db": drive_db}).samples
    long_dbtp, short_dbtp = _read_all(limited, rate_hz)
    assert max(long_dbtp, short_dbtp) <= CEILING_DBTP
    # The ceiling is also used: no more than half a dB is given away.
    assert long_dbtp > min(CEILING_DBTP, long_dbtp_of_loop(loop.samples) + drive_db) - 0.5


def _hard_sounds() -> dict[str, npt.NDArray[np.float64]]:
    bursts = (np.arange(FRAMES) % 12000 < 3000)[:, None]
    pulses = np.zeros((FRAMES, 2))
    pulses[::7777] = 1.0
    pulses[1::9973, 0] = -1.0
    return {
        "square": np.sign(sine(220.0, 1.0, FRAMES, RATE_HZ, 1.0)),
        "high square": np.sign(sine(5500.0, 1.0, FRAMES, RATE_HZ, 1.0)),
        "bursts of 20 kHz": sine(20000.0, 1.0, FRAMES, RATE_HZ, 20.0) * bursts,
        "bursts of a quarter of the rate": sine(12000.0, 1.0, FRAMES, RATE_HZ, 45.0) * bursts,
        "pulses": pulses,
        "clipped noise": np.clip(noise(FRAMES, 1.0, 1), -0.5, 0.5) * 2,
    }


@pytest.mark.parametrize("drive_db", [0.0, 9.0])
@pytest.mark.parametrize("name", sorted(_hard_sounds()))
def test_hard_sounds_stay_below_on_two_meters(name: str, drive_db: float) -> None:
    """The same two meters on signals that are known to swing high between samples, with the move's band limit."""
    loop = MOVE.prepare(Clip(_hard_sounds()[name].astype(np.float32), RATE_HZ))
    limited = MOVE.render(loop, {"drive_db": drive_db}).samples
    assert max(_read_all(limited, RATE_HZ)) <= CEILING_DBTP


@pytest.mark.parametrize("ceiling_dbtp", [-6.0, -1.0, 0.0])
def test_ffmpeg_agrees(ceiling_dbtp: float) -> None:
    """ffmpeg's ebur128 filter, to its one decimal."""
    loop = _prepare_song("dense", 1)
    limited = MOVE.render(loop, {"drive_db": 10.0, "ceiling_dbtp": ceiling_dbtp}).samples
    assert ffmpeg_dbtp(limited, RATE_HZ) <= ceiling_dbtp


def test_the_true_peak_round_a_fourier_series_stays_below() -> None:
    """A periodic band-limited wave is its Fourier series: zero-padding the spectrum 16 times gives it exactly."""
    loop = _prepare_song("dense", 2)
    limited = MOVE.render(loop, {"drive_db": 10.0}).samples.astype(np.float64)
    wave = np.fft.irfft(np.fft.rfft(limited, axis=0), n=16 * FRAMES, axis=0) * 16
    assert 20 * np.log10(np.abs(wave).max()) <= CEILING_DBTP


def test_what_is_below_is_left_bit_for_bit_and_only_the_neighbourhood_is_touched() -> None:
    """Contract of the docstring: the input itself wherever nothing near is above the ceiling."""
    samples = 0.3 * sine(997.0, 1.0, 24000, RATE_HZ)
    np.testing.assert_array_equal(hold_ceiling(samples.T, RATE_HZ, -1.0).T, samples)
    samples[12000:12010] += 0.8
    held = hold_ceiling(samples.T, RATE_HZ, -1.0).T
    changed = np.flatnonzero((held != samples).any(axis=1))
    assert changed.size > 0
    # Half a window and half a hold on each side, 1.5 ms each, a few times over at most.
    assert changed.min() > 12000 - 480 and changed.max() < 12010 + 480
    assert (np.abs(held) <= np.abs(samples) + 1e-15).all()
