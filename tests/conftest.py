"""Shared by all tests: nothing ever touches a person's data folder; the demo song is read once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import platformdirs
import pytest

from trainer.exercise.drill import Drill
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
def bench() -> Iterator[Bench]:
    """Give a bench with the bundled songs."""
    yield Bench(list_demo_songs(), read_song)


@pytest.fixture
def data_folder(tmp_path: Path) -> Path:
    """Give a data folder of the test's own."""
    folder = tmp_path / "data"
    folder.mkdir()
    return folder
