"""The silent clock and the test tone."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.errors import BadValue
from trainer.playback.silent import SilentPlayer
from trainer.playback.tone import make_tone, play_tone
from trainer.ports import Playhead

from .fakes import HandClock


def test_the_clock_moves_the_head() -> None:
    """Position is time times rate, round the loop, kept over a pause and a choice of version."""
    clock = HandClock()
    player = SilentPlayer(48000, now=clock)
    player.play()
    assert player.position() == Playhead(0, 0, False)
    player.load(np.zeros((2, 24000, 2), dtype=np.float32), 48000)
    player.play()
    clock.sleep(0.75)
    assert player.position().frame == pytest.approx(12000, abs=1)
    player.select(1)
    player.pause()
    clock.sleep(5.0)
    head = player.position()
    assert head.frame == pytest.approx(12000, abs=1)
    assert (head.version, head.playing) == (1, False)
    player.play()
    clock.sleep(0.1)
    assert player.position().frame == pytest.approx(16800, abs=2)
    with pytest.raises(BadValue, match="version=2"):
        player.select(2)


def test_silence_is_said() -> None:
    """The output is silent and its note is one line with what to do."""
    output = SilentPlayer(44100).output
    assert output.silent
    assert output.note.startswith("No sound output was found: sound is off.")
    assert "\n" not in output.note


def test_the_tone_is_440_hz_at_minus_30_dbfs() -> None:
    """Its peak is 10^(−30/20) and its spectrum one line at 440 Hz; by AES17 a full-scale sine is 0 dBFS."""
    tone = make_tone(44100)
    assert tone.shape == (1, 44100, 2)
    assert np.abs(tone).max() == pytest.approx(10**-1.5, rel=1e-4)
    spectrum = np.abs(np.fft.rfft(tone[0, :, 0])) / 22050
    assert spectrum[440] == pytest.approx(10**-1.5, rel=1e-5)
    spectrum[440] = 0.0
    assert spectrum.max() < 1e-8


def test_the_tone_takes_its_time_and_ends() -> None:
    """After three seconds on a silent clock the player stands and tells no interruption."""
    clock = HandClock()
    player = SilentPlayer(48000, now=clock)
    began_s = clock()
    assert play_tone(player, now=clock, sleep=clock.sleep) == 0
    assert clock() - began_s == pytest.approx(3.05, abs=0.11)
    assert not player.position().playing
