"""Every word of Drills, Progress, Setup and the first start can be written, and none of it cheers."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from typing import get_args

import pytest

from tests.fakes import MemoryStore, make_world
from tests.ui.test_fonts import WEIGHTS, glyphs_of
from tests.week.quick import make_stored
from trainer.exercise.drill import Drill
from trainer.session import intents
from trainer.session.pages import PageView
from trainer.session.progress_place import LOOKS
from trainer.session.screens import Program
from trainer.session.setup_state import Page
from trainer.session.world import World

DAY = 744_000
CHEERS = (
    "well done",
    "great",
    "congrat",
    "streak",
    "points",
    "level up",
    "badge",
    "medal",
    "keep it up",
    "awesome",
    "!",
)


def list_texts(thing: object) -> Iterator[str]:
    """List every text in a view, intents and figures' colours left out."""
    if isinstance(thing, str):
        yield thing
    elif isinstance(thing, tuple):
        for each in thing:
            yield from list_texts(each)
    elif is_dataclass(thing) and type(thing).__module__ != intents.__name__:
        for field in fields(thing):
            yield from list_texts(getattr(thing, field.name))


def list_pages(world: World) -> Iterator[PageView]:
    """Show every page there is."""

    def show(program: Program) -> PageView:
        shown = program.view()
        assert isinstance(shown, PageView)
        return shown

    program = Program(world)
    program.act(intents.GoTo("drills"))
    yield show(program)
    for drill in world.drills.values():
        program.act(intents.Do("family", drill.subject))
        program.act(intents.Do("show", drill.drill))
        yield show(program)
    program.act(intents.GoTo("progress"))
    for look in LOOKS:
        program.act(intents.Do("look", look))
        yield show(program)
        while show(program).busy:
            program.tick()
        yield show(program)
        program.act(intents.GoOn())
        yield show(program)
    program.act(intents.GoTo("setup"))
    for page in get_args(Page):
        program.act(intents.Do("page", page))
        yield show(program)
    program.act(intents.GoTo("first"))
    for step in ("level", "sides", "setup", "volume"):
        program.act(intents.Do("step", step))
        program.act(intents.ToggleSound())
        yield show(program)


@pytest.fixture(scope="module")
def texts(drills: dict[str, Drill]) -> list[str]:
    """Give all texts, with some history and without any."""
    named = next(drill for drill in drills.values() if drill.form == "name_it")
    trials = [
        make_stored(drill, DAY - k, n, correct=n % 3 > 0, setup=setup, right_answer=named.choices[0].answer,
                    answer=named.choices[n % 2].answer)
        for setup in ("headphones", "monitors")
        for drill in (drills["high_shelf_8k"], drills["saturation"], named)
        for k in range(11)
        for n in range(2)
    ]  # fmt: skip
    full = make_world(drills, store=MemoryStore(trials, {"cautions_seen": "yes"}))
    empty = make_world(drills, setup="")
    return [text for world in (full, empty) for page in list_pages(world) for text in list_texts(page)]


def test_every_letter_has_a_glyph(texts: list[str]) -> None:
    """In each weight of the bundled type."""
    letters = "".join(sorted(set("".join(texts))))
    for weight in WEIGHTS:
        missing = [sign for sign, metric in zip(letters, glyphs_of(weight, letters), strict=True) if metric is None]
        assert missing == []


def test_no_words_cheer(texts: list[str]) -> None:
    """Plain words, no praise, no points."""
    found = {text for text in texts for cheer in CHEERS if cheer in text.casefold()}
    assert not found


def test_numbers_have_a_real_minus_and_no_false_digits(texts: list[str]) -> None:
    """A hyphen before a digit is no minus; a range has two significant figures, so never three decimals."""
    assert not [text for text in texts if re.search(r"(^|[\s(])-\d", text)]
    assert not [text for text in texts if re.search(r"\d\.\d{3}", text)]
