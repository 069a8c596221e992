"""Every view at every size: nothing overlaps, nothing leaves the window, everything can be reached."""

from __future__ import annotations

from itertools import combinations

import pygame
import pytest

from tests.ui import sample_views, samples
from tests.ui.canvas import draw
from trainer.session.pages import View
from trainer.session.palette import Theme
from trainer.ui.lettering import Lettering
from trainer.ui.pen import Pen
from trainer.ui.screens.view import draw_view
from trainer.ui.widgets.keylist import listed_keys

VIEWS = samples.all_views()
LETTERING = Lettering()
CASES = [
    ((1280, 800), 100, "paper"),
    ((1280, 800), 80, "night"),
    ((1280, 800), 200, "paper"),
    ((960, 600), 100, "night"),
    ((960, 600), 150, "paper"),
    ((1920, 1080), 100, "paper"),
    ((1920, 1080), 130, "night"),
    ((640, 420), 100, "paper"),
]


def show(name: str, size: tuple[int, int], percent: int, theme: Theme) -> Pen:
    """Draw an example."""
    view = VIEWS[name]
    frame = view.frame
    return draw(sample_views.restyle(view, theme, percent, frame.keys_open, frame.notice), size, LETTERING)


@pytest.mark.parametrize("name", VIEWS)
@pytest.mark.parametrize(("size", "percent", "theme"), CASES)
def test_no_words_overlap_or_leave_the_window(name: str, size: tuple[int, int], percent: int, theme: Theme) -> None:
    """Lines, a little less tall than their type, keep clear of each other on each layer."""
    pen = show(name, size, percent, theme)
    window = pen.surface.get_rect()
    for line in pen.written:
        assert window.contains(line.box), line
    for one, other in combinations(pen.written, 2):
        if one.layer == other.layer:
            smaller = [line.box.inflate(-2, -line.box.height // 6) for line in (one, other)]
            assert not smaller[0].colliderect(smaller[1]), (one, other)


@pytest.mark.parametrize("name", VIEWS)
def test_offers_do_not_overlap(name: str) -> None:
    """A click means one thing only; the list of keys takes the whole window, under its own lines."""
    pen = show(name, (1280, 800), 100, "paper")
    whole = pen.surface.get_rect()
    for one, other in combinations([hit for hit in pen.hits if hit.box != whole], 2):
        assert not one.box.colliderect(other.box), (one, other)


def test_a_long_page_scrolls_to_its_end() -> None:
    """What is cut off at the top of a page appears when it is scrolled down."""
    view: View = sample_views.restyle(sample_views.reveal(), "paper", 200)
    top = draw(view, (960, 600))
    assert top.scroll_most > 0
    assert not any("Between 0.7" in line.text for line in top.written)
    surface = pygame.Surface((960, 600))
    low = Pen(surface, top.look, Lettering(), scroll=10_000)
    draw_view(low, view)
    assert low.scroll == low.scroll_most
    assert any("Between 0.7" in line.text for line in low.written)


@pytest.mark.parametrize("name", ["trial", "trial-eight", "trial-paused", "today", "reveal"])
def test_usual_pages_need_no_scrolling(name: str) -> None:
    """At the smallest usual window all is in sight."""
    assert show(name, (960, 600), 100, "paper").scroll_most == 0


def test_key_list_holds_all_keys() -> None:
    """Each key of the view and of the window is written with what it does."""
    view = VIEWS["trial-keys"]
    words = " ".join(line.text for line in show("trial-keys", (1280, 800), 100, "paper").written if line.layer == 1)
    for key in listed_keys(view.frame):
        assert key.label in words and key.does in words


def test_heard_version_is_named_in_words() -> None:
    """Playing or paused is said, not coloured only (WCAG 2.2, 1.4.1)."""
    assert any(line.text == "playing" for line in show("trial", (1280, 800), 100, "paper").written)
    assert any(line.text == "paused" for line in show("trial-paused", (1280, 800), 100, "paper").written)


@pytest.mark.parametrize("version", [1, 2, 3])
def test_versions_that_rest_look_alike(version: int) -> None:
    """But for their numbers, the discs that do not sound are pixel for pixel the same."""
    pen = draw(sample_views.trial(3, version), (1280, 800))
    discs = [hit.box for hit in pen.hits if hit.box.width == hit.box.height and hit.by_tab]
    assert len(discs) == 3
    rest = [box for index, box in enumerate(discs) if index + 1 != version]
    rims = [
        pygame.image.tobytes(pen.surface.subsurface(pygame.Rect(*box.topleft, box.width, 24)), "RGB") for box in rest
    ]
    assert rims[0] == rims[1]
