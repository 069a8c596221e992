"""All thresholds as a picture: a file that others can read, or one line that says why not."""

from __future__ import annotations

import errno
import os
import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import pygame
import pytest

from tests.week.quick import make_stored
from trainer.app.picturing import write_picture
from trainer.app.world import Conditions
from trainer.errors import BadValue
from trainer.exercise.drill import Drill
from trainer.store.history import SqliteStore

DAY = 741_600


@pytest.fixture
def practised(data_folder: Path, drills: dict[str, Drill]) -> Conditions:
    """Give a data folder with two skills on two set-ups."""
    store = SqliteStore(data_folder)
    for setup in ("headphones", "monitors"):
        for name in ("high_shelf_8k", "limiting"):
            for n in range(10):
                trial = make_stored(drills[name], DAY, n, setup=setup)
                store.keep(make_stored(drills[name], DAY, n, setup=setup, trial=f"{trial.trial}-{setup}"))
    store.close()
    return Conditions(str(data_folder))


def test_a_picture_of_lines(practised: Conditions, tmp_path: Path, drills: dict[str, Drill]) -> None:
    """An SVG that a reader of XML takes, with both set-ups and each skill's name once under either."""
    path = tmp_path / "new" / "ears.svg"
    assert str(path) in write_picture(practised, str(path), False)
    texts = [element.text for element in ET.parse(path).getroot().iter("{http://www.w3.org/2000/svg}text")]
    assert texts.count(drills["limiting"].title) == 2
    assert {"headphones, bundled songs", "monitors, bundled songs", "a usual amount"} <= set(texts)
    with pytest.raises(BadValue, match="--force"):
        write_picture(practised, str(path), False)
    write_picture(Conditions(practised.data, "monitors"), str(path), True)
    assert "headphones" not in path.read_text(encoding="utf-8")


def test_a_picture_of_points(practised: Conditions, tmp_path: Path) -> None:
    """A PNG by its signature (ISO/IEC 15948), as large as it says, and not empty."""
    path = tmp_path / "ears.png"
    write_picture(practised, str(path), False)
    assert path.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    image = pygame.image.load(path)
    assert image.get_width() == 2 * (760 + 32)
    colours = {tuple(image.get_at((x, y)))[:3] for x in range(0, image.get_width(), 2) for y in range(0, 400, 2)}
    assert len(colours) > 10


@pytest.mark.parametrize("name", ["ears.png", "ears.svg"])
def test_a_disk_that_is_full_leaves_the_picture_that_was_there(
    practised: Conditions, tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """POSIX: ENOSPC after a part is written: one line, the old picture whole, and nothing beside it."""
    path = tmp_path / name
    path.write_bytes(b"before")

    def write(*place: Any, **options: Any) -> None:
        part = place[1] if len(place) > 2 else place[0].open("wb")
        part.write(b"a part")
        part.close()
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(pygame.image, "save", write)
    monkeypatch.setattr(Path, "write_text", write)
    with pytest.raises(BadValue, match="a place that can be written") as caught:
        write_picture(practised, str(path), True)
    assert "\n" not in str(caught.value) and path.read_bytes() == b"before"
    assert [each.name for each in tmp_path.iterdir() if each.suffix in (".part", ".old")] == []


@pytest.mark.parametrize("name", ["ears.jpg", "ears"])
def test_other_endings_are_refused_before_anything_is_read(name: str, tmp_path: Path) -> None:
    """One line that names what there is."""
    with pytest.raises(BadValue, match=r"\.svg or \.png"):
        write_picture(Conditions(str(tmp_path / "none")), name, False)


def test_nothing_to_draw_is_one_line(data_folder: Path, tmp_path: Path) -> None:
    """And no file is left."""
    with pytest.raises(BadValue, match="answers first"):
        write_picture(Conditions(str(data_folder)), str(tmp_path / "ears.svg"), False)
    assert not (tmp_path / "ears.svg").exists()
