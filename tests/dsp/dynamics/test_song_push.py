"""The whole song reaches what it is said to reach: read with libebur128 on the song rendered at that drive."""

from __future__ import annotations

import pyebur128
import pytest

from trainer.audio.clip import Clip
from trainer.audio.loops import cut_loop
from trainer.dsp.dynamics.song_push import SongPush
from trainer.dsp.processor import run_through
from trainer.errors import BadValue, NotReachable
from trainer.workshop.bench import Bench


@pytest.fixture(scope="module")
def song(bench: Bench) -> Clip:
    """Give 40 s of a bundled song, prepared."""
    clip = bench.songs()[0].clip
    return SongPush().prepare(Clip(clip.samples[10 * clip.rate_hz : 50 * clip.rate_hz], clip.rate_hz))


@pytest.mark.parametrize("lufs", [-12.0, -9.0])
def test_a_rung_is_what_the_song_measures(song: Clip, lufs: float) -> None:
    """ITU-R BS.1770 by libebur128: within 0.3 LU of what was asked, within 0.05 of what is said."""
    move = SongPush()
    found = move.drive_song(song, lufs, {})
    assert found.loudness_lufs == pytest.approx(lufs, abs=0.3)
    settings = {"drive_db": found.drive_db, "ceiling_dbtp": -1.0, "reached_lufs": found.loudness_lufs}
    pushed = run_through(move.begin(settings, song.rate_hz), song)
    meter = pyebur128.R128State(2, song.rate_hz, pyebur128.MeasurementMode.MODE_I)
    meter.add_frames(pushed.samples.astype("float32").reshape(-1), pushed.frames)
    assert pyebur128.get_loudness_global(meter) == pytest.approx(found.loudness_lufs, abs=0.05)


def test_a_loop_tells_what_the_song_reaches(song: Clip) -> None:
    """The drive is looked up, and the sentence says the song's loudness."""
    known = SongPush()
    move = known.with_song(lambda lufs, settings: known.drive_song(song, lufs, settings))
    loop = cut_loop(song, 5 * song.rate_hz, 6 * song.rate_hz)
    settings = move.solve(loop, -10.0, {})
    effect = move.measure(loop, move.render(loop, settings), settings)
    assert effect.amount == pytest.approx(-10.0, abs=0.3)
    assert "LUFS" in effect.sentences[0] and effect.measured["push_lu"] > 3.0


def test_without_a_song_or_out_of_reach_it_refuses(song: Clip) -> None:
    """One line each."""
    with pytest.raises(BadValue, match="song=none"):
        SongPush().solve(song, -10.0, {})
    with pytest.raises(NotReachable, match="LUFS"):
        SongPush().drive_song(song, 3.0, {})
