"""Whole songs through several moves."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import butter, sosfilt

from tests.measure.meters import ebur128_dbtp
from tests.measure.sounds import music_like, noise
from trainer.audio.clip import Clip
from trainer.dsp.song_chain import Step, begin_chain, render_song
from trainer.errors import BadValue

RATE_HZ = 48000
STEPS = (
    Step("high_pass", {"cutoff_hz": 30.0}),
    Step("bell", {"centre_hz": 300.0, "centre_gain_db": -3.0}),
    Step("saturation", {"thd_percent": 1.0}),
    Step("compressor", {"threshold_dbfs": -20.0, "slow_release_ms": 800.0, "side_chain_hz": 100.0}),
    Step("push", {"drive_db": 6.0}),
)


def test_a_chain_keeps_length_place_and_ceiling() -> None:
    """The best fit of output to input is at no delay (cross-correlation); the peak is read by libebur128."""
    song = Clip((3 * music_like(4 * RATE_HZ, RATE_HZ, 2)).astype(np.float32), RATE_HZ)
    made = render_song(song, STEPS)
    assert made.frames == song.frames and np.isfinite(made.samples).all()
    spectra = [np.fft.rfft(clip.samples[:, 0].astype(np.float64)) for clip in (made, song)]
    high = np.fft.rfftfreq(song.frames, 1 / RATE_HZ) > 2000  # where the filters turn no phase to speak of
    assert int(np.fft.irfft(high * spectra[0] * np.conj(spectra[1])).argmax()) == 0
    assert ebur128_dbtp(made.samples, RATE_HZ) <= -1.0


def test_how_much_is_done_is_told_block_by_block() -> None:
    """By construction: 30 s are 22 blocks of 65536 frames; what is told rises to 1."""
    told: list[float] = []
    song = Clip(np.zeros((30 * RATE_HZ, 2), dtype=np.float32), RATE_HZ)
    render_song(song, STEPS[:1], tell=told.append)
    assert len(told) == -(-30 * RATE_HZ // 65536) and told[-1] == 1.0
    assert told == sorted(told)


def test_filters_one_after_the_other_are_their_product() -> None:
    """Against scipy's own Butterworth filter: two of our high-passes in a chain are it twice."""
    song = Clip(noise(20000, 0.1, 4).astype(np.float32), RATE_HZ)
    twice = render_song(song, (Step("high_pass", {"cutoff_hz": 60.0}), Step("high_pass", {"cutoff_hz": 60.0})))
    sections = butter(2, 60.0, "highpass", fs=RATE_HZ, output="sos")
    wished = sosfilt(np.concatenate([sections, sections]), song.samples.astype(np.float64), axis=0)
    np.testing.assert_allclose(twice.samples, wished, atol=2e-6)


def test_no_steps_leave_the_song_and_unknown_ones_are_refused() -> None:
    """By contract."""
    song = Clip(noise(2000, 0.1, 5).astype(np.float32), RATE_HZ)
    assert render_song(song, ()) is song
    for name in ("click", "no_such_move"):
        with pytest.raises(BadValue, match="chain: move="):
            begin_chain((Step(name),), RATE_HZ)
    with pytest.raises(BadValue, match="bell: centre_hz="):
        begin_chain((Step("bell", {"centre_hz": 1.0}),), RATE_HZ)
