"""Clicks in loud masters: a limiter and a clipper make none, and those that were there before it are found."""

from __future__ import annotations

import numpy as np
import pytest

from tests.long.faults import CLICK_SHAPES, Material, count_found, plant_clicks, scan_for
from trainer.audio.clip import Clip
from trainer.dsp.dynamics.song_push import SongPush
from trainer.dsp.song_chain import Step, render_song
from trainer.files.library import list_demo_songs
from trainer.files.sound_reading import read_song
from trainer.measure.faults.finding import Finding
from trainer.measure.faults.scan import scan_faults

LOUD_LUFS = -11.0
STEP = 2.0**-23
# Song and first second: drums, and a hit that a scan for what merely stands out takes for a click.
PLACES = ((0, 0.2), (1, 30.0))
TONE = (Step("high_shelf", {"gain_db": 2.0}), Step("saturation", {"thd_percent": 3.0}))


def push(song: Clip, settings: dict[str, float], loudness_lufs: float) -> Clip:
    """Push an excerpt to a loudness."""
    move = SongPush()
    return move.solve_song(move.prepare(song), loudness_lufs, settings, 0.5).clip


def cut_excerpt(index: int, start_s: float) -> Clip:
    """Cut 8 s of a demo song."""
    clip = read_song(list_demo_songs()[index]).clip
    first = int(start_s * clip.rate_hz)
    return Clip(clip.samples[first : first + 8 * clip.rate_hz], clip.rate_hz)


def list_clicks(clip: Clip) -> list[Finding]:
    """Scan an excerpt as a file of 24 bits, save its cut ends."""
    stored = (np.round(clip.samples / STEP) * STEP).astype(np.float32)
    found = scan_faults(stored, clip.rate_hz, STEP)[1].faults
    return [each for each in found if each.kind == "click" and 0.02 < each.start_s < 7.98]


@pytest.mark.parametrize("over_db", [1.0, 90.0])
@pytest.mark.parametrize(("index", "start_s"), PLACES)
@pytest.mark.parametrize("tone", [(), TONE], ids=["as it is", "brighter and bent"])
def test_a_pushed_song_has_no_clicks(index: int, start_s: float, over_db: float, tone: tuple[Step, ...]) -> None:
    """By construction: the mix has none, and what is done to it is smooth; with a soft clipper and without."""
    song = render_song(cut_excerpt(index, start_s), tone)
    for loudness_lufs in (-14.0, LOUD_LUFS):
        assert list_clicks(push(song, {"clip_over_db": over_db}, loudness_lufs)) == []


@pytest.mark.parametrize("shape", sorted(CLICK_SHAPES))
@pytest.mark.parametrize(("index", "start_s"), PLACES)
def test_clicks_in_a_pushed_song_are_found(index: int, start_s: float, shape: str) -> None:
    """Planted 18 dB over the RMS value above 4 kHz of the 50 ms around them, on one side: nineteen of twenty."""
    loud = push(cut_excerpt(index, start_s), {}, LOUD_LUFS)
    material = Material("", loud.samples.astype(np.float64), loud.rate_hz)
    wave, places = plant_clicks(material, CLICK_SHAPES[shape], 18.0, (0,), np.random.default_rng(4), 0.3)
    found = count_found(scan_for("click", wave, loud.rate_hz), "click", places, loud.rate_hz, 0.002)
    assert len(places) >= 20 and found >= 0.95 * len(places)


def test_noise_of_the_mix_is_no_noise_before_the_master() -> None:
    """Closed form: dither of 16 bits, 12 dB louder, is about −79 LUFS before a song at −10: 69 LU under it, no fault.

    Triangular dither and rounding are three rectangular parts of a step's width, on each side 3 / 12 of its square:
    −96.3 dBFS. The weighting curve gives white noise a few dB more. Noise 30 times as high is one. That what lies 60 LU
    under a song is not heard is common practice, no source.
    """
    rng, rate_hz = np.random.default_rng(8), 48000
    step = 2.0**-15 * 10 ** (12 / 20)
    noise = step * rng.uniform(-0.5, 0.5, (6 * rate_hz, 2, 3)).sum(axis=2)
    time = np.arange(4 * rate_hz) / rate_hz
    notes = np.sin(2 * np.pi * 440 * time) * np.minimum(1, np.minimum(time, 4 - time) / 0.05)
    song = noise.copy()
    song[2 * rate_hz :] += 0.35 * notes[:, None]
    kinds = {each.kind for each in scan_faults(song.astype(np.float32), rate_hz)[1].faults}
    assert "head_noise" not in kinds
    louder = song + 30 * noise * (np.arange(6 * rate_hz) < 2 * rate_hz)[:, None]
    assert "head_noise" in {each.kind for each in scan_faults(louder.astype(np.float32), rate_hz)[1].faults}
