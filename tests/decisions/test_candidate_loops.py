"""Loops of whole-song renderings: the same as cutting the whole rendering, and equally loud on libebur128."""

from __future__ import annotations

import numpy as np
import pyebur128
import pytest

from tests.decisions.steady_songs import RATE_HZ, describe
from tests.measure.sounds import music_like
from trainer.audio.clip import Clip
from trainer.audio.loops import cut_loop
from trainer.decisions.bounces import Stretch
from trainer.decisions.candidate_loops import (
    choose_last_stretches,
    choose_stretches,
    cut_versions,
    list_without_each,
    match_versions,
)
from trainer.decisions.evidence import Evidence
from trainer.dsp.song_chain import Step, render_song
from trainer.errors import BadValue
from trainer.measure.faults.scan import scan_faults

# Loudness against the loudest part, dB, of each 8 s: quiet, middling, loud, and an ending that falls away.
PARTS_DB = (-12.0, -6.0, 0.0, -6.0)


def make_song() -> Clip:
    """Make 36 s with parts of known loudness, an ending that fades, and 2 s of silence."""
    wave = np.tile(music_like(4 * RATE_HZ, RATE_HZ, 2), (2, 1))
    parts = [wave * 10 ** (level / 20) for level in PARTS_DB]
    ending = wave[: 4 * RATE_HZ] * 10 ** (-np.linspace(6, 36, 4 * RATE_HZ) / 20)[:, None]
    return Clip(np.concatenate([*parts, ending, np.zeros((2 * RATE_HZ, 2))]).astype(np.float32), RATE_HZ)


@pytest.fixture(scope="module")
def song() -> Clip:
    """Give the song."""
    return make_song()


@pytest.fixture(scope="module")
def evidence(song: Clip) -> Evidence:
    """Measure it."""
    return Evidence(describe(song), *scan_faults(song.samples, RATE_HZ))


def read_lufs(loop: Clip) -> float:
    """Read ten rounds with libebur128."""
    meter = pyebur128.R128State(2, RATE_HZ, pyebur128.MeasurementMode.MODE_I)
    rounds = np.tile(loop.samples, (10, 1))
    meter.add_frames(rounds.reshape(-1), rounds.shape[0])
    return float(pyebur128.get_loudness_global(meter))


def test_the_stretches_are_the_loudest_and_a_quiet_one(song: Clip, evidence: Evidence) -> None:
    """By construction: the third part, and, less than 25 dB below it, the first or the ending."""
    found = choose_stretches(song, evidence)
    assert found["loudest"].start_s == pytest.approx(16.0, abs=0.3)
    assert found["quiet"].start_s < 1.0 or found["quiet"].start_s > 24.0


def test_verse_chorus_and_ending(song: Clip, evidence: Evidence) -> None:
    """Names decide where they are known; else loudness does. The ending ends with the last sound."""
    found = choose_last_stretches(song, evidence)
    assert found["chorus"].start_s == pytest.approx(16.0, abs=0.3)
    assert found["ending"].end_s == pytest.approx(36.0, abs=0.05)
    verse = found["verse"]
    assert verse.end_s <= found["chorus"].start_s or verse.start_s >= found["chorus"].end_s
    sections = (("intro", 0.0, 3.0), ("Verse 1", 3.0, 12.0), ("chorus", 12.0, 20.0))
    named = choose_last_stretches(song, evidence, sections, 34.0)
    assert (named["verse"], named["chorus"]) == (Stretch(3.0, 11.0), Stretch(12.0, 20.0))
    assert named["ending"].end_s == 34.0


def test_versions_are_cut_from_the_whole_rendering(song: Clip) -> None:
    """A slow compressor carries its past into the loop: the cut is that of the whole song's rendering, bit for bit."""
    held = Step("compressor", {"threshold_dbfs": -20.0, "release_ms": 3000.0})
    place = Stretch(18.0, 24.0)
    (found,) = cut_versions(song, ((), (held,)), {"loudest": place})
    whole = render_song(song, (held,))
    loop = cut_loop(whole, 18 * RATE_HZ, 6 * RATE_HZ)
    gain = 10 ** (found.versions[1].gain_db / 20)
    assert np.abs(found.versions[1].loop.samples - loop.samples * gain).max() < 1e-6
    plain = cut_loop(song, 18 * RATE_HZ, 6 * RATE_HZ).samples * 10 ** (found.versions[0].gain_db / 20)
    assert np.abs(found.versions[0].loop.samples - plain).max() < 1e-6


def test_all_versions_are_equally_loud_on_every_stretch(song: Clip, evidence: Evidence) -> None:
    """libebur128: within 0.05 LU, no true peak over −1 dBTP; a limiter's fellow has its end at 21 kHz too."""
    shelf = Step("low_shelf", {"gain_db": -2.0})
    rung = Step("song_push", {"drive_db": 9.0})
    stretches = choose_stretches(song, evidence)
    for one in cut_versions(song, ((shelf,), (shelf, rung)), stretches):
        readings = [read_lufs(version.loop) for version in one.versions]
        assert max(readings) - min(readings) < 0.05
        assert all(version.true_peak_dbtp <= -1.0 for version in one.versions)
        tops = [np.abs(np.fft.rfft(version.loop.samples[:, 0])) for version in one.versions]
        lines = np.fft.rfftfreq(one.versions[0].loop.frames, 1 / RATE_HZ)
        over = [float((top[lines > 23000] ** 2).sum() / (top[lines < 20000] ** 2).sum()) for top in tops]
        # White noise of 0.01 lies under a song of about 0.1: without that end 1/24 of it, 4e-4, is up there.
        assert over[0] < 1e-6 and over[1] < 1e-5


def test_an_ending_is_not_turned_up_against_its_song(song: Clip, evidence: Evidence) -> None:
    """Other stretches play at −20 LUFS, it as far below as it lies below the song."""
    places = choose_last_stretches(song, evidence)
    found = {one.name: one.versions[0].loudness_lufs for one in cut_versions(song, ((), ()), places)}
    meter = pyebur128.R128State(2, RATE_HZ, pyebur128.MeasurementMode.MODE_I)
    meter.add_frames(song.samples.reshape(-1), song.frames)
    ending = places["ending"]
    own = read_lufs(cut_loop(song, round(ending.start_s * RATE_HZ), 8 * RATE_HZ))
    under = own - pyebur128.get_loudness_global(meter)
    assert found["ending"] == pytest.approx(found["chorus"] + under, abs=0.1)


def test_what_falls_away_into_silence_is_matched_where_it_is_played() -> None:
    """Steps of 6 dB from −30 to −84 LUFS: at every level other blocks pass the gate at −70 LUFS (ITU-R BS.1770)."""
    steps = np.repeat(10 ** (-np.arange(10) * 6 / 20), 4 * RATE_HZ // 5)[:, None]
    wave = 0.02 * steps * np.sin(2 * np.pi * 997 * np.arange(steps.size) / RATE_HZ)[:, None]
    loop = Clip(np.repeat(wave, 2, axis=1).astype(np.float32), RATE_HZ)
    other = loop.with_samples(loop.samples * np.where(steps > 0.05, 0.8, 1.1))
    for played in (-20.0, -34.0, -47.0, -55.0):
        one, two = match_versions((loop, other), played)
        assert read_lufs(one.loop) == pytest.approx(read_lufs(two.loop), abs=0.05)
        assert one.loudness_lufs == pytest.approx(played, abs=0.02)
        assert np.abs(one.loop.samples - loop.samples * 10 ** (one.gain_db / 20)).max() < 1e-6


def test_a_chain_without_each_of_its_steps() -> None:
    """Each is left out once, the others keep their order."""
    a, b, c = Step("high_pass"), Step("tilt"), Step("width")
    assert list_without_each((a, b, c)) == ((b, c), (a, c), (a, b))


def test_short_and_silent_songs_are_refused() -> None:
    """A line each."""
    for length_s, part in ((3.0, "at least 4 s"), (6.0, "sound in it")):
        clip = Clip(np.zeros((int(length_s * RATE_HZ), 2), np.float32), RATE_HZ)
        with pytest.raises(BadValue, match=part):
            choose_stretches(clip, Evidence(describe(clip), *scan_faults(clip.samples, RATE_HZ)))
