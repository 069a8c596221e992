"""Drills, Progress, Setup and the first start in the window: nothing overlaps, nothing leaves it."""

from __future__ import annotations

from itertools import combinations

import pytest

from tests.fakes import MemoryStore, make_world
from tests.session.test_place_words import DAY, list_pages
from tests.ui.look import draw
from tests.ui.sample_views import restyle
from tests.week.quick import make_stored
from trainer.exercise.drill import Drill
from trainer.session.pages import PageView
from trainer.ui.lettering import Lettering

LETTERING = Lettering()


@pytest.fixture(scope="module")
def pages(drills: dict[str, Drill]) -> list[PageView]:
    """Give every page once, of a drill or two, after eleven days of practice."""
    few = {name: drills[name] for name in ("set_up_low", "high_shelf_8k", "saturation")}
    trials = [
        make_stored(drill, DAY - day, n, correct=n % 3 > 0, setup=setup)
        for setup in ("headphones", "monitors")
        for drill in (few["high_shelf_8k"], few["saturation"])
        for day in range(11)
        for n in range(2)
    ]
    return list(list_pages(make_world(few, store=MemoryStore(trials, {"cautions_seen": "yes"}))))


@pytest.mark.parametrize(("size", "percent"), [((1280, 800), 100), ((1280, 800), 250), ((640, 420), 100)])
def test_words_and_offers_keep_apart(size: tuple[int, int], percent: int, pages: list[PageView]) -> None:
    """Lines, a little less tall than their type, and whatever can be clicked."""
    for page in pages:
        pen = draw(restyle(page, "paper", percent), size, LETTERING)
        window = pen.surface.get_rect()
        assert all(window.contains(line.box) for line in pen.written), page.headline
        lines = [line.box.inflate(-2, -line.box.height // 6) for line in pen.written]
        offers = [hit.box for hit in pen.hits if hit.box != window]
        for boxes in (lines, offers):
            assert not any(one.colliderect(other) for one, other in combinations(boxes, 2)), page.headline
