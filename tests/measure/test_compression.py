"""All readings of a compressor together, on a sound and a gain that are known."""

from __future__ import annotations

import numpy as np
import pytest

from tests.measure.sounds import sine
from tests.measure.test_beat import drums
from trainer.errors import BadValue
from trainer.measure.compression import measure_compression

RATE_HZ = 48000


def test_a_known_gain_is_read_in_every_figure() -> None:
    """Closed form: from each beat on 6 dB down, back with 150 ms; a resting gain of 2 does not count."""
    seconds, beats = 4.0, tuple(np.arange(8) / 2 + 0.1)
    before = drums(beats[::2], beats[1::2], seconds) + sine(55.0, 0.02, int(seconds * RATE_HZ), RATE_HZ)
    since = (np.arange(before.shape[0]) / RATE_HZ - 0.1) % 0.5
    down_db = 6 * np.exp(-since / 0.15)
    read = measure_compression(before, 2 * before * (10 ** (-down_db / 20))[:, None], RATE_HZ, 2.0)
    quantities = read.quantities
    assert quantities["reduction_on_hits_db"] == pytest.approx(6.0, abs=0.05)
    assert quantities["reduction_mean_db"] == pytest.approx(6 * 0.3 * (1 - np.exp(-0.5 / 0.15)), abs=0.02)
    assert quantities["reduction_95th_percentile_db"] == pytest.approx(6 * np.exp(-0.025 / 0.15), abs=0.1)
    assert quantities["swing_at_beat_db"] == pytest.approx(6 - 6 * np.exp(-0.5 / 0.15), abs=0.2)
    assert quantities["recovery_between_hits_percent"] == pytest.approx(100 * (1 - np.exp(-0.5 / 0.15)), abs=3)
    assert quantities["snare_over_song_after_db"] < quantities["snare_over_song_before_db"]
    assert np.isfinite(list(quantities.values())).all()


def test_what_cannot_be_read_is_left_out() -> None:
    """By construction: a tone at 1 kHz holds no bass; silence holds no drums, and gives zeros and no not-a-number."""
    tone = sine(1000.0, 0.2, 2 * RATE_HZ, RATE_HZ, fade_s=0.5)
    quantities = measure_compression(tone, 0.5 * tone, RATE_HZ, 1.0).quantities
    assert quantities["reduction_mean_db"] == pytest.approx(6.02, abs=0.01)
    assert "roughness_on_bass_db" not in quantities
    silence = np.zeros((RATE_HZ, 2))
    quantities = measure_compression(silence, silence, RATE_HZ, 1.0).quantities
    assert quantities["reduction_on_hits_db"] == 0
    assert not any("snare" in name or "kick" in name for name in quantities)


def test_a_loop_too_short_is_refused() -> None:
    """Contract: one frame holds no reduction over time."""
    with pytest.raises(BadValue, match="duration_s"):
        measure_compression(np.ones((1, 2)), np.ones((1, 2)), RATE_HZ, 1.0)
