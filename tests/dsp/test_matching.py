"""Loudness matching, judged by libebur128."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from tests.measure.meters import ebur128_dbtp, ebur128_lufs
from tests.measure.sounds import music_like, noise
from trainer.audio.clip import Clip
from trainer.dsp.matching import MatchedLoop, guard_match, match_loops, spread_lu, turn_loop
from trainer.errors import BadValue


def _clip(samples: npt.NDArray[np.float64], rate_hz: int = 48000) -> Clip:
    return Clip(samples.astype(np.float32), rate_hz)


def _read(loop: Clip) -> float:
    """Read ten rounds and 300 ms, so that blocks begin at every 100 ms of every round alike."""
    rounds = np.tile(loop.samples, (10, 1))
    return ebur128_lufs(np.concatenate([rounds, loop.samples[: int(0.3 * loop.rate_hz)]]), loop.rate_hz)


@pytest.mark.parametrize("rate_hz", [44100, 48000])
def test_matched_loops_are_equally_loud_and_below_the_ceiling(rate_hz: int) -> None:
    """libebur128 on ten rounds: within 0.02 LU; EBU R 128, item m: at most −1 dBTP, hot inputs turned down."""
    song = music_like(2 * rate_hz, rate_hz, 1)
    squashed = np.tanh(4 * song)
    loops = tuple(_clip(s, rate_hz) for s in (song, 0.3 * squashed, 2.5 * song, 0.05 * noise(2 * rate_hz, 1.0, 2)))
    matched = match_loops(loops)
    read = [_read(item.loop) for item in matched]
    assert max(read) - min(read) <= 0.02
    for item, value, given in zip(matched, read, loops, strict=True):
        assert item.loudness_lufs == pytest.approx(value, abs=0.01)
        assert ebur128_dbtp(np.tile(item.loop.samples, (3, 1)), rate_hz) <= -1.0
        np.testing.assert_allclose(item.loop.samples, given.samples * 10 ** (item.gain_db / 20), atol=1e-6)


def test_versions_are_turned_by_what_lies_between_them() -> None:
    """Closed form: of three equal loops at 0, −6 and −9 dB, two go down by 9 and 3 dB against the third."""
    song = 0.2 * music_like(96000, 48000, 3)
    loops = tuple(_clip(song * 10 ** (g / 20)) for g in (0.0, -6.0, -9.0))
    gains = [item.gain_db for item in match_loops(loops)]
    assert [gain - gains[2] for gain in gains] == pytest.approx([-9.0, -3.0, 0.0], abs=1e-4)


@pytest.mark.parametrize("gain", [0.3, 3.0])
def test_songs_of_any_level_are_played_at_one(gain: float) -> None:
    """Read by libebur128: a loud song comes down and a soft one up to −20 LUFS, where peaks allow it."""
    song = _clip(gain * music_like(96000, 48000, 4))
    (played,) = match_loops((song,))
    assert _read(played.loop) == pytest.approx(-20.0, abs=0.02)


def test_equal_loops_over_the_ceiling_go_down_together() -> None:
    """EBU R 128, item m: at most −1 dBTP; equal sounds get equal gains."""
    tall = 0.5 * music_like(96000, 48000, 4)
    tall[::9600] = 3.0
    hot = _clip(tall)
    one, other = match_loops((hot, hot))
    assert one.gain_db == other.gain_db < 0
    peak = ebur128_dbtp(np.tile(one.loop.samples, (3, 1)), 48000)
    assert -1.3 < peak <= -1.0


def test_silence_is_refused_in_one_line() -> None:
    """ITU-R BS.1770: what never passes the gate of −70 LKFS has no loudness that could be matched."""
    song = _clip(music_like(48000, 48000, 5))
    for quiet in (np.zeros((48000, 2)), 1e-6 * noise(48000, 1.0, 6)):
        with pytest.raises(BadValue) as caught:
            match_loops((song, _clip(quiet)))
        assert "\n" not in str(caught.value)


def test_the_guard_refuses_unequal_or_hot_versions() -> None:
    """Closed form: 0.2 dB louder is 0.2 LU louder; what says otherwise is caught by the second reading."""
    song = _clip(0.2 * music_like(96000, 48000, 7))
    louder = turn_loop(song, 0.2)
    honest = (MatchedLoop(song, 0.0, -20.0, -5.0), MatchedLoop(louder, 0.2, -19.8, -4.8))
    assert spread_lu(honest) == pytest.approx(0.2)
    lying = (MatchedLoop(song, 0.0, -20.0, -5.0), MatchedLoop(louder, 0.2, -20.0, -4.8))
    hot = (MatchedLoop(song, 0.0, -20.0, -5.0), MatchedLoop(song, 0.0, -20.0, -0.9))
    for versions, name in ((honest, "spread_lu"), (lying, "second_reading_lu"), (hot, "true_peak_dbtp")):
        with pytest.raises(BadValue) as caught:
            guard_match(versions)
        assert caught.value.name == name


def test_turning_by_nothing_gives_the_loop_itself() -> None:
    """A gain of 0 dB must not change a bit; 6.0206 dB is a factor of 2 (closed form)."""
    song = _clip(noise(4800, 0.1, 8))
    assert turn_loop(song, 0.0) is song
    np.testing.assert_allclose(turn_loop(song, 20 * np.log10(2)).samples, 2 * song.samples, rtol=1e-6)
