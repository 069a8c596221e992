"""What drills need of the demo songs is in them: beats where they are stated, drums, a full spectrum."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import signal as sps

from tests.audio_demo.song_file import ENTRIES, SongFile, level_db, read, steps_db, third_octaves_db


def test_music_moves_on_the_stated_beats(song: SongFile) -> None:
    """Folded over two beats, the rises of all bands together stand out within 20 ms of a beat.

    The folded rises are compared with themselves turned by a quarter of a beat: a grid that is stated
    wrongly would not prefer its own beats.
    """
    step = 240
    _, _, bands = sps.stft(song.audio.mean(axis=1), song.rate_hz, nperseg=1024, noverlap=1024 - step)
    rises = np.maximum(np.diff(np.log10(np.abs(bands) + 1e-4), axis=1), 0.0).sum(axis=0)
    times_s = (np.arange(len(rises)) + 0.5) * step / song.rate_hz - song.entry["first_downbeat_s"]
    inside = (times_s > -0.04) & (times_s < song.entry["sections"][-1]["end_s"] - song.entry["first_downbeat_s"])
    phase_s = (times_s[inside] + 0.5 * song.beat_s) % song.beat_s - 0.5 * song.beat_s
    near = rises[inside][np.abs(phase_s) < 0.02].mean()
    assert near > 1.5 * rises[inside][np.abs(np.abs(phase_s) - 0.25 * song.beat_s) < 0.02].mean()


def test_drums_fall_on_the_stated_beats(song: SongFile) -> None:
    """The strongest rise above 1.5 kHz near a backbeat lies within 12 ms of it, nine times in ten.

    Not always: now and then a consonant or a strummed chord beside the beat rises more than the snare.
    """
    if not song.has("backbeat"):
        pytest.skip("not said of this song")
    sections = sps.butter(4, 1500.0, "highpass", fs=song.rate_hz, output="sos")
    errors_s = []
    for beat_s in song.backbeats_s():
        part = song.between(beat_s - 0.1, beat_s + 0.1).mean(axis=1).astype(np.float64)
        step = round(0.002 * song.rate_hz)
        energy = (sps.sosfilt(sections, part) ** 2)[: len(part) // step * step].reshape(-1, step).sum(axis=1)
        rise_s = (np.argmax(np.diff(np.sqrt(energy))) + 1) * 0.002 - 0.1
        errors_s.append(abs(rise_s))
    assert float(np.percentile(errors_s, 90.0)) <= 0.012


def test_backbeats_stand_over_the_bed(song: SongFile) -> None:
    """Most backbeats of the choruses would be cut by a limiter that takes 6 dB off the highest peak."""
    if not song.has("backbeat") or song.states != ["open"]:
        pytest.skip("not said of this song, or its peaks are taken off already")
    peaks_db = [
        20.0 * np.log10(np.abs(song.between(beat_s - 0.01, beat_s + 0.06)).max()) for beat_s in song.backbeats_s()
    ]
    assert float(np.median(peaks_db)) - level_db(song.sections("chorus")) > 9.0
    ceiling_db = 20.0 * np.log10(np.abs(song.audio).max()) - 6.0
    assert np.mean(np.array(peaks_db) > ceiling_db + 1.0) > 0.7


def test_spectrum_is_full(song: SongFile) -> None:
    """No octave is missing in the choruses, and the top octave holds music.

    The long-term density of popular music falls by about 5 dB an octave between 100 Hz and 4 kHz (from memory:
    P. D. Pestana et al., AES convention 135, 2013). A third-octave band grows by 3 dB an octave over a density,
    so bands fall by about 2 dB; the limits here are wide, for these are mixes and not masters.
    """
    octaves, top = (63, 125, 250, 500, 1000, 2000, 4000, 8000), (10_000, 12_500, 16_000)
    level = third_octaves_db(song.sections("chorus"), song.rate_hz, octaves + top)
    for hz in octaves:
        assert -20.0 < level[hz] - level[1000] < 26.0, hz
    assert level[63] - level[8000] > 10.0
    slope_db = np.polyfit(np.log2([125, 250, 500, 1000, 2000, 4000]), [level[hz] for hz in octaves[1:-1]], 1)[0]
    assert -3.5 < slope_db < -0.5
    for hz in top:
        assert -35.0 < level[hz] - level[1000] < -8.0, hz


def test_no_song_stands_far_from_the_others() -> None:
    """From 125 Hz to 8 kHz every song's choruses lie within 6 dB of the median of all: the songs' own spread."""
    centres = (125, 250, 500, 1000, 2000, 4000, 8000)
    rows = []
    for entry in ENTRIES:
        song = SongFile(entry, *read(entry["file"]))
        level = third_octaves_db(song.sections("chorus"), song.rate_hz, centres)
        rows.append([level[hz] - np.mean(list(level.values())) for hz in centres])
    away_db = np.abs(np.array(rows) - np.median(rows, axis=0))
    assert away_db.max() < 6.0


def test_top_is_music_and_not_hiss(song: SongFile) -> None:
    """Above 10 kHz the level of 20 ms pieces of the choruses moves by more than 10 dB."""
    sections = sps.butter(8, 10_000.0, "highpass", fs=song.rate_hz, output="sos")
    top = sps.sosfilt(sections, song.sections("chorus").astype(np.float64), axis=0)
    low, high = np.percentile(steps_db(np.asarray(top, dtype=np.float32), song.rate_hz, 0.02), (10, 95))
    assert high - low > 10.0
