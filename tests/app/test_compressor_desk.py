"""Settings of a compressor brought to one loudness, judged by libebur128 and by a second meter."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from tests.measure.meters import ebur128_dbtp, ebur128_lufs
from tests.measure.sounds import music_like
from trainer.audio.clip import Clip
from trainer.dsp import matching
from trainer.dsp.matching import match_loops, match_many
from trainer.errors import BadValue
from trainer.measure.second_reading import read_loop_lufs

RATE_HZ = 48000


def make_sounds(peak: float = 0.0) -> tuple[Clip, ...]:
    """Make a loop and two that are squashed, at other levels; with a few high peaks if wished."""
    song = 0.2 * music_like(2 * RATE_HZ, RATE_HZ, 1)
    song[::9600] += peak
    waves = (song, 0.5 * np.tanh(4 * song), 1.4 * np.tanh(song))
    return tuple(Clip(wave.astype(np.float32), RATE_HZ) for wave in waves)


@pytest.mark.parametrize("peak", [0.0, 6.0])
def test_settings_are_equally_loud_and_below_the_ceiling(peak: float) -> None:
    """libebur128 on ten rounds: within 0.02 LU; EBU R 128, item m: at most −1 dBTP, and no lower than that needs."""
    sounds, shares = make_sounds(peak), list[float]()
    matched = match_many(sounds, shares.append)
    read = [_read(each.loop.samples) for each in matched]
    peaks = [ebur128_dbtp(np.tile(each.loop.samples, (3, 1)), RATE_HZ) for each in matched]
    assert max(read) - min(read) <= 0.02 and max(peaks) <= -1.0
    assert max(peaks) > -1.3 if peak else read[0] == pytest.approx(-20.0, abs=0.02)
    for one, other in zip(matched, match_loops(sounds), strict=True):
        assert one.gain_db == pytest.approx(other.gain_db, abs=1e-4)
    assert shares == sorted(shares) and 0 < shares[0] < 1


def _read(samples: npt.NDArray[np.float32]) -> float:
    """Read ten rounds and 300 ms, so that blocks begin at every 100 ms of every round alike."""
    return ebur128_lufs(np.concatenate([np.tile(samples, (10, 1)), samples[: int(0.3 * RATE_HZ)]]), RATE_HZ)


def test_the_second_meter_guards_every_setting(monkeypatch: pytest.MonkeyPatch) -> None:
    """Sound that it reads 0.06 LU apart is refused, 0.04 LU is not; it reads each sound that is played once."""
    sounds, apart = make_sounds(), {"lu": 0.04}
    heard: list[int] = []

    def read(samples: npt.NDArray[np.float32], rate_hz: int, rounds: int) -> float:
        heard.append(id(samples))
        return read_loop_lufs(samples, rate_hz, rounds) + (apart["lu"] if len(heard) == 3 else 0.0)

    monkeypatch.setattr(matching, "read_loop_lufs", read)
    matched = match_many(sounds)
    assert heard == [id(each.loop.samples) for each in matched]
    heard, apart["lu"] = [], 0.06
    with pytest.raises(BadValue, match=r"second_reading_lu=0\.06"):
        match_many(sounds)


def test_one_round_is_enough_for_the_second_meter() -> None:
    """From rest a meter's filters settle in a tenth of a second (slowest pole at 38 Hz): three rounds read no other.

    Within 0.005 LU, a tenth of what the guard allows.
    """
    for each in make_sounds():
        assert read_loop_lufs(each.samples, RATE_HZ, 1) == pytest.approx(
            read_loop_lufs(each.samples, RATE_HZ, 3), abs=0.005
        )


def test_silence_is_refused() -> None:
    """ITU-R BS.1770: what never passes the gate of −70 LKFS has no loudness that could be matched."""
    loop = make_sounds()[0]
    with pytest.raises(BadValue, match="−70 LUFS gate"):
        match_many((loop, loop.with_samples(np.zeros_like(loop.samples))))
