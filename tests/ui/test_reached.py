"""Every view that a person can come to, at three window sizes and four sizes of text: whole, apart, and legible."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from itertools import product

import numpy as np
import pygame
import pytest

from tests.ui.reached_views import reach_all
from tests.ui.sample_views import restyle
from tests.ui.test_pages import luminance
from trainer.exercise.drill import Drill
from trainer.session.figure import Colour
from trainer.session.intents import GoOn
from trainer.session.pages import View
from trainer.session.palette import Rgb, Theme
from trainer.session.view import Button, Frame
from trainer.ui import paint
from trainer.ui.lettering import ASCENT, DESCENT, Lettering
from trainer.ui.pen import Align, Pen
from trainer.ui.screens.view import draw_view
from trainer.ui.theme import Style, choose_theme

SIZES = ((960, 600), (1280, 800), (1920, 1080))
PERCENTS = (80, 100, 150, 250)
LEAST_CONTRAST = 4.5
PAINTS = ("panel", "outline", "area", "line", "disc", "ring", "cross")


class Widths(Lettering):
    """Gives empty lines that are as wide as they would be."""

    def render(self, text: str, weight: str, size_px: int, colour: Rgb) -> tuple[pygame.Surface, int]:  # type: ignore[override]
        """Give an empty line."""
        return pygame.Surface((self.width(text, weight, size_px), 1)), 0  # type: ignore[arg-type]


class Blank(pygame.Surface):
    """Stays blank: only its size and where it is cut are of interest."""

    def blit(self, *_: object, **__: object) -> pygame.Rect:  # type: ignore[override]
        """Draw nothing."""
        return pygame.Rect(0, 0, 0, 0)

    def fill(self, *_: object, **__: object) -> pygame.Rect:  # type: ignore[override]
        """Fill nothing."""
        return pygame.Rect(0, 0, 0, 0)


class Inspector(Pen):
    """Notes for each line its colour and what is under it before it is written."""

    def write(self, text: str, x: float, baseline: float, style: Style, colour: Colour | Rgb = "ink",
              align: Align = "left") -> int:  # fmt: skip
        """Write nothing; note the least contrast at the line's ends and in its middle."""
        width, size = self.width(text, style), self.size(style)
        left = round(x - {"left": 0.0, "middle": width / 2, "right": width}[align])
        box = pygame.Rect(left, round(baseline - ASCENT * size), width, round((ASCENT + DESCENT) * size))
        seen = box.clip(self.surface.get_clip())
        if text and seen.width > 2 and seen.height > 2:
            tint = self.look.word(colour) if isinstance(colour, str) else colour
            places = [(at, seen.centery) for at in (seen.left + 1, seen.centerx, seen.right - 2)]
            under = np.array([self.surface.get_at(place)[:3] for place in places])
            CONTRASTS.append((text, contrast(np.array(tint), under)))
        return width


CONTRASTS: list[tuple[str, float]] = []
WIDTHS = Widths()


def contrast(words: np.ndarray, under: np.ndarray) -> float:
    """Give the least contrast of WCAG 2.2 of a colour against others."""
    ratios = (np.maximum(luminance(words), luminance(under)) + 0.05) / (
        np.minimum(luminance(words), luminance(under)) + 0.05
    )
    return float(ratios.min())


@pytest.fixture(scope="module")
def views(drills: dict[str, Drill]) -> dict[str, View]:
    """Give every view once."""
    return reach_all(drills)


@pytest.fixture
def unpainted(monkeypatch: pytest.MonkeyPatch) -> None:
    """Leave shapes out, which stand where the lines and the offers do."""
    for name in PAINTS:
        monkeypatch.setattr(paint, name, lambda *_: None)


def lay_out(view: View, size: tuple[int, int], percent: int, tall: int = 0) -> Pen:
    """Set a view without painting it; as on a window of this size, or on one that is taller."""
    view = restyle(view, "paper", percent, view.frame.keys_open, view.frame.notice)
    pen = Pen(Blank((size[0], tall or size[1])), choose_theme("paper", size, percent), WIDTHS)
    draw_view(pen, view)
    return pen


@pytest.mark.usefixtures("unpainted")
@pytest.mark.parametrize(("size", "percent"), [*product(SIZES, PERCENTS), ((640, 420), 100)])
def test_nothing_overlaps_or_leaves_the_window(size: tuple[int, int], percent: int, views: dict[str, View]) -> None:
    """Lines, a little less tall than their type; offers; and no line goes over the edge of an offer."""
    for name, view in views.items():
        assert_whole(lay_out(view, size, percent), name)


@pytest.mark.usefixtures("unpainted")
@pytest.mark.parametrize("percent", [100, 250])
def test_nothing_overlaps_further_down_a_page(percent: int, views: dict[str, View]) -> None:
    """On a window so tall that nothing is scrolled."""
    for name, view in views.items():
        pen = lay_out(view, SIZES[0], percent, 6000)
        assert pen.scroll_most == 0
        assert_whole(pen, name)


def assert_whole(pen: Pen, name: str) -> None:
    """See that lines and offers keep apart, and inside the window."""
    window = pen.surface.get_rect()
    lines = [line.box.inflate(-2, -line.box.height // 6) for line in pen.written if line.layer == pen.layer]
    assert all(window.contains(line.box) for line in pen.written), name
    offers = [hit.box for hit in pen.hits if hit.box != window and hit.box.width]
    assert_apart(lines, name)
    assert_apart(offers, name)
    for line in lines:
        for place in line.collidelistall(offers):
            assert offers[place].contains(line), (name, line, offers[place])


def assert_apart(boxes: list[pygame.Rect], name: str) -> None:
    """See that no two of many boxes touch."""
    for place, box in enumerate(boxes):
        hit = box.collidelist(boxes[place + 1 :])
        assert hit < 0, (name, box, boxes[place + 1 + hit])


@pytest.mark.parametrize("theme", ["paper", "night"])
def test_words_stand_out_from_what_they_stand_on(theme: Theme, views: dict[str, View]) -> None:
    """WCAG 2.2, 1.4.3: 4.5 : 1, of the colours of every line against what is painted under it."""
    CONTRASTS.clear()
    for name, view in views.items():
        before = len(CONTRASTS)
        shown = restyle(view, theme, 100, view.frame.keys_open, view.frame.notice)
        draw_view(Inspector(pygame.Surface((1280, 800)), choose_theme(theme, (1280, 800), 100), WIDTHS), shown)
        weak = [each for each in CONTRASTS[before:] if each[1] < LEAST_CONTRAST]
        assert not weak, (name, weak)
    assert len(CONTRASTS) > 1000


def list_buttons(part: object) -> Iterator[Button]:
    """List all buttons of a view, wherever they stand in it, apart from its frame."""
    if isinstance(part, Button):
        yield part
    elif isinstance(part, tuple):
        for each in part:
            yield from list_buttons(each)
    elif is_dataclass(part) and not isinstance(part, Frame):
        for field in fields(part):
            yield from list_buttons(getattr(part, field.name))


def test_one_button_is_the_main_one_and_enter_presses_it(views: dict[str, View]) -> None:
    """A button says "main" for the one accent of the screen; Enter is named after it and means the same."""
    pressed = 0
    for name, view in views.items():
        main = [button for button in list_buttons(view) if button.main]
        assert len(main) <= 1, (name, [button.label for button in main])
        for key in view.frame.keys if main else ():
            if key.label == "Enter" and not getattr(getattr(view, "entry", None), "text", ""):
                assert key.does.lower() == main[0].label.lower(), name
                assert key.bindings == (("return", main[0].intent),) or key.bindings == (("return", GoOn()),), name
                pressed += 1
    assert pressed > 60


def test_only_one_key_says_one_thing_in_the_footer(views: dict[str, View]) -> None:
    """No two keys at the foot of a screen do the same, and none says nothing."""
    for name, view in views.items():
        said = [key.does for key in view.frame.keys if key.shown]
        assert len(set(said)) == len(said) and all(said), (name, said)


def test_no_mark_of_another_kind_of_text_is_shown(views: dict[str, View]) -> None:
    """Commands stand as they are typed, without the marks by which documents set them off."""
    for name, view in views.items():
        assert "`" not in repr(view), name


def test_every_page_is_reached(views: dict[str, View]) -> None:
    """All forms of question, and each page of every part of the program, have a view of their own."""
    kinds = {name.split("-")[0] for name in views}
    assert {"mix", "weigh", "places", "today", "cautions", "problem", "preparing", "leaving"} <= kinds
    assert len(views) > 100
