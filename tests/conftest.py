"""Shared by all tests: nothing ever touches a person's data folder; a demo song is read and measured once."""

from __future__ import annotations

from pathlib import Path

import platformdirs
import pytest

from trainer.dsp.moves import list_moves_with
from trainer.exercise.drill import Drill
from trainer.exercise.songbook import SongBook
from trainer.files.coding import ChildCoder
from trainer.files.library import list_demo_songs, list_drills
from trainer.files.sound_reading import read_song
from trainer.workshop.bench import Bench


@pytest.fixture(autouse=True)
def no_real_data_folder(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make the default data folder raise, so that a test that forgets its own fails."""

    def refuse(*_: object, **__: object) -> str:
        raise AssertionError("a test reached for the person's own data folder")

    monkeypatch.setattr(platformdirs, "user_data_dir", refuse)
    monkeypatch.delenv("EVENHAND_DATA", raising=False)


@pytest.fixture(scope="session")
def drills(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Drill]:
    """Give the bundled drills."""
    return list_drills(tmp_path_factory.mktemp("no_own_drills"))


@pytest.fixture(scope="session")
def book() -> SongBook:
    """Give what the bench knows of the bundled songs."""
    return SongBook()


@pytest.fixture(scope="session")
def bench(book: SongBook) -> Bench:
    """Give a bench with the bundled songs and every move, coding too."""
    return Bench(list_demo_songs(), read_song, list_moves_with(ChildCoder()), book)


@pytest.fixture
def data_folder(tmp_path: Path) -> Path:
    """Give a data folder of the test's own."""
    folder = tmp_path / "data"
    folder.mkdir()
    return folder
