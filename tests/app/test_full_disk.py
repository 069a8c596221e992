"""A disk that is full in the middle of a file: what was there stays, nothing half lies beside it, one line says why."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from tests.files.test_weigh_page import make_facts
from tests.week.quick import make_stored
from trainer.app import made_songs, rendering
from trainer.app.listing import write_days
from trainer.app.picturing import write_picture
from trainer.app.world import Conditions
from trainer.audio.clip import Clip
from trainer.errors import BadValue, EvenhandError
from trainer.exercise.drill import Drill
from trainer.exercise.song import SongEntry
from trainer.files.weigh_page import WeighReport, write_weigh_page
from trainer.store.history import SqliteStore

DAY = 741_600


def fill(path: Path, data: bytes) -> None:
    """Write half of something, and find the disk full: POSIX, ENOSPC."""
    path.write_bytes(data[: len(data) // 2])
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


@pytest.fixture
def full(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have a disk that is full half through any text."""
    monkeypatch.setattr(Path, "write_text", lambda self, text, **how: fill(self, text.encode()))


@pytest.fixture
def conditions(data_folder: Path, drills: dict[str, Drill]) -> Conditions:
    """Give a data folder with a little practice."""
    store = SqliteStore(data_folder)
    for number in range(10):
        store.keep(make_stored(drills["limiting"], DAY, number))
    store.close()
    return Conditions(str(data_folder))


WRITERS: dict[str, Callable[[Conditions, Path], Any]] = {
    "days.csv": lambda conditions, path: write_days(conditions, str(path), force=True),
    "ears.svg": lambda conditions, path: write_picture(conditions, str(path), force=True),
    "page.html": lambda conditions, path: write_weigh_page(path, WeighReport(make_facts(), (), ())),
}


@pytest.mark.parametrize("name", WRITERS)
@pytest.mark.usefixtures("full")
def test_what_was_there_stays(conditions: Conditions, tmp_path: Path, name: str) -> None:
    """By construction: the file of before, alone in its folder; with none before, no file and no folder."""
    old, new = tmp_path / "here" / name, tmp_path / "new" / name
    old.parent.mkdir()
    old.write_bytes(b"mine")
    for path in (old, new):
        with pytest.raises(BadValue) as caught:
            WRITERS[name](conditions, path)
        assert "o space left on device" in str(caught.value) and str(path) in str(caught.value)
    assert list(old.parent.iterdir()) == [old] and old.read_bytes() == b"mine" and not new.parent.exists()


def test_a_trial_that_is_rendered_again(
    conditions: Conditions, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By construction: the sounds of before, and no receipt of what is not there."""
    folder = tmp_path / "trials"
    folder.mkdir()
    before = folder / "trial_001_version_1.wav"
    before.write_bytes(b"mine")

    def write(path: Path, samples: Any, rate_hz: int) -> None:
        path.write_bytes(b"half")
        raise BadValue("out", "file", path, "a place that can be written")

    trial = SimpleNamespace(versions=(SimpleNamespace(number=1),), sounds=(np.zeros((9, 2)),), rate_hz=48000)
    monkeypatch.setattr(rendering, "write_float_wav", write)
    monkeypatch.setattr(rendering, "make_bench", lambda songs: SimpleNamespace(make=lambda spec: trial))
    with pytest.raises(BadValue, match=r"trial_001_version_1\.wav, expected a place that can be written"):
        rendering.render_drill(conditions, rendering.RenderWish("limiting", str(folder), force=True))
    assert list(folder.iterdir()) == [before] and before.read_bytes() == b"mine"


def test_a_song_that_is_made_on_first_use(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """By construction: neither the song nor its notes; it is made the next time."""
    mix = tmp_path / "mix.flac"
    mix.write_bytes(b"a mix")
    clip = Clip(np.zeros((480, 2), np.float32), 48000)
    master = SimpleNamespace(clip=clip, steps=(), loudness_lufs=-12.0, true_peak_dbtp=-1.0, words=())
    monkeypatch.setattr(made_songs, "read_song", lambda entry: entry)
    monkeypatch.setattr(made_songs, "make_master", lambda song: master)
    entry = SongEntry(path=str(mix), title="Mix", audio_class="demo")
    with monkeypatch.context() as disk:
        disk.setattr(made_songs, "write_flac", lambda path, samples, rate_hz: fill(path, b"sound"))
        with pytest.raises((OSError, EvenhandError)):
            made_songs.open_master(tmp_path, entry)
    assert list(tmp_path.iterdir()) == [mix]
    made = made_songs.open_master(tmp_path, entry)
    assert {path.suffix for path in (tmp_path / made_songs.FOLDER).iterdir()} == {".flac", ".json"}
    assert made.of == "Mix" and made.notes["integrated_lufs"] == -12.0
