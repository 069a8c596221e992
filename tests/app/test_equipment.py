"""What Setup shows of this computer, and histories that go out and come in without being counted twice."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.week.quick import make_stored
from trainer.app.equipment import HomeEquipment
from trainer.errors import BadValue
from trainer.exercise.drill import Drill
from trainer.store.history import SqliteStore

DAY = 741_600


def test_a_history_travels_once(tmp_path: Path, drills: dict[str, Drill]) -> None:
    """Written, taken in, taken in again: the same trials, each once."""
    places = [tmp_path / name for name in ("here", "there")]
    for place in places:
        place.mkdir()
    here, there = (SqliteStore(place) for place in places)
    for number in range(3):
        here.keep(make_stored(drills["limiting"], DAY, number))
    there.keep(make_stored(drills["limiting"], DAY, 0))
    file = tmp_path / "ears.jsonl"
    assert HomeEquipment(places[0], here).export_history(str(file)).startswith("3 trials written")
    assert "2 trials added; 1 of 3 were there already" in HomeEquipment(places[1], there).merge_history(str(file))
    assert HomeEquipment(places[1], there).merge_history(str(file)).startswith("0 trials added")
    assert there.list_trials() == here.list_trials()
    with pytest.raises(BadValue, match="does not exist yet"):
        HomeEquipment(places[0], here).export_history(str(file))


def test_what_is_known_of_the_outputs(tmp_path: Path) -> None:
    """A line to each kind, the silent clock last, as they are tried."""
    equipment = HomeEquipment(tmp_path, SqliteStore(tmp_path))
    lines = equipment.describe_outputs()
    assert [line.split()[0].rstrip(":") for line in lines] == ["portaudio", "sdl", "silent"]
    assert equipment.data_folder == str(tmp_path)
