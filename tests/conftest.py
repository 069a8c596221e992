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

# Files that take the longest, longest first: begun last, one of them would hold up the end of the whole run.
LONGEST_FIRST = (
    "exercise/test_curriculum.py",
    "exercise/test_references.py",
    "session/test_every_form.py",
    "exercise/test_coverage.py",
    "cli/test_commands.py",
    "measure/test_alignment.py",
    "cli/test_weigh.py",
    "dsp/test_moves.py",
    "cli/test_bounce.py",
    "decisions/test_version_check.py",
    "exercise/test_preparation.py",
    "decisions/test_weighing.py",
    "app/test_bouncing.py",
    "ui/test_reached.py",
    "measure/faults/test_limited.py",
    "exercise/test_plan.py",
    "dsp/dynamics/test_ceiling.py",
    "app/test_made_songs.py",
    "dsp/dynamics/test_song_push.py",
    "cli/test_simulate.py",
    "project/test_wheel.py",
    "cli/test_window.py",
    "cli/test_decide.py",
    "ui/test_walks.py",
)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the files that take the longest."""
    places = {Path(__file__).parent / name: place for place, name in enumerate(LONGEST_FIRST)}
    items.sort(key=lambda item: places.get(item.path, len(places)))


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
