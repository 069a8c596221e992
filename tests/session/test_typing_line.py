"""A file is found from the first folder to the last by what is offered, without a path being typed."""

from __future__ import annotations

import os
from pathlib import Path

import platformdirs
import pytest

from tests.fakes import FakeFiles, make_world
from tests.text.typing import lead
from trainer.files.paths import Paths
from trainer.session import intents
from trainer.session.pages import Entry, PageView
from trainer.session.screens import Program
from trainer.session.world import World


@pytest.fixture
def music(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Make a home with a folder for music, two folders in it, and mixes."""
    folder = tmp_path / "home" / "Music"
    (folder / "bounces").mkdir(parents=True)
    (folder / "Old").mkdir()
    for name in ("mix 10.wav", "mix 2.wav", "notes.txt"):
        (folder / name).touch()
    (folder / "bounces" / "crane.flac").touch()
    monkeypatch.setattr(platformdirs, "user_music_dir", lambda: str(folder))
    monkeypatch.setattr(Path, "home", lambda: tmp_path / "home")
    return folder


@pytest.fixture
def world() -> World:
    """Give a world with real files."""
    return make_world({}, files=Paths())


def find_entry(program: Program) -> Entry:
    """Give the line of the page."""
    shown = program.view()
    assert isinstance(shown, PageView) and shown.entry is not None
    return shown.entry


def choose(program: Program, label: str) -> list[str]:
    """Choose an offer by its label, and give the labels that follow."""
    program.act(next(offer.intent for offer in find_entry(program).offers if offer.label == label))
    return [offer.label for offer in find_entry(program).offers]


def test_a_file_is_chosen_without_typing(world: World, music: Path) -> None:
    """From the folder for music; folders first, numbers as they count, no other files; a click more opens it."""
    program = Program(world)
    program.act(intents.GoTo("weigh"))
    assert [offer.label for offer in find_entry(program).offers] == ["Look in Music", "Look in the home folder"]
    inside = ["Up to the home folder", "bounces/", "Old/", "mix 2.wav", "mix 10.wav"]
    assert choose(program, "Look in Music") == inside
    assert choose(program, "bounces/") == ["Up to Music", "crane.flac"]
    assert choose(program, "Up to Music") == inside
    assert choose(program, "mix 2.wav") == ["Up to Music"]
    program.act(intents.GoOn())
    assert program.state.weigh.files == (str(music / "mix 2.wav"),)


def test_the_next_file_is_looked_for_where_the_last_one_was(world: World, music: Path) -> None:
    """Also after a new start, as it is kept."""
    program = Program(world)
    program.act(intents.GoTo("mixes"))
    for label in ("Look in Music", "bounces/", "crane.flac"):
        choose(program, label)
    again = Program(world)
    again.act(intents.GoTo("weigh"))
    assert find_entry(again).offers[0].label == "Look in bounces"
    assert find_entry(again).offers[0].intent == intents.SetText(str(music / "bounces") + os.sep)


def test_what_was_begun_is_completed_and_the_way_up_is_told_apart(world: World, music: Path) -> None:
    """Of a path that is half typed only what begins so is offered; what leads up leaves the line's beginning."""
    program = Program(world)
    program.act(intents.GoTo("weigh"))
    program.act(intents.SetText(f"{music}{os.sep}mix "))
    assert [offer.label for offer in find_entry(program).offers] == ["mix 2.wav", "mix 10.wav"]
    assert find_entry(program).way_up is None
    program.act(intents.SetText(f"{music}{os.sep}"))
    way = find_entry(program).way_up
    assert way is not None and way.intent == intents.SetText(str(music.parent) + os.sep)


def test_the_uppermost_folder_has_no_way_up() -> None:
    """Nor has a name without a folder."""
    files = FakeFiles(("/mix.wav", "mix.wav"))
    for typed in ("/", "mix.wav"):
        program = Program(make_world({}, files=files))
        program.act(intents.GoTo("weigh"))
        program.act(intents.SetText(typed))
        assert find_entry(program).way_up is None


@pytest.mark.usefixtures("music")
def test_the_terminal_says_the_same_list(world: World) -> None:
    """By numbers, as every offer."""
    program = Program(world)
    program.act(intents.GoTo("weigh"))
    said = lead(program, ["[Look in Music]", "[bounces/]", "[crane.flac]"])
    assert all(
        f" {label}\n" in said
        for label in ("Look in the home folder", "Up to the home folder", "mix 10.wav", "crane.flac")
    )
    assert program.state.typed.endswith("crane.flac")


def test_without_a_home_nothing_is_offered(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """As for a user whose home folder is not known."""

    def refuse() -> Path:
        raise RuntimeError

    monkeypatch.setattr(Path, "home", refuse)
    program = Program(world)
    program.act(intents.GoTo("weigh"))
    assert find_entry(program).offers == ()
