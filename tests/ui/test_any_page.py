"""Pages of parts by lot, with words of any length: nothing overlaps and nothing leaves the window."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from itertools import combinations

import pytest

from tests.ui import sample_pages, sample_views
from tests.ui.canvas import draw
from tests.ui.sample_figures import response_figure
from trainer.session import pages
from trainer.session.intents import Do, Listen
from trainer.session.view import Button, PlanItem, Progress, Sounding
from trainer.ui.lettering import Lettering

TEXT = "crane mastered loudness −11.2 low shelf overlapping_name_of_a_long_file.flac at the old ropewalk 110 Hz"
WORDS = (*TEXT.split(), "averylongwordthatgoesonandonwithoutanend")
MARKS: tuple[Progress, ...] = ("right", "wrong", "done", "current", "ahead")
ROLES: tuple[pages.Role, ...] = ("body", "muted", "small", "title", "figure")
LETTERING = Lettering()


class Lot:
    """Draws parts by lot."""

    def __init__(self, seed: int) -> None:
        self.chance = random.Random(seed)

    def text(self, most: int, least: int = 0) -> str:
        """Draw a few words."""
        return " ".join(self.chance.choices(WORDS, k=self.chance.randint(least, most)))

    def buttons(self, most: int) -> tuple[Button, ...]:
        """Draw buttons."""
        count = self.chance.randint(1, most)
        return tuple(Button(self.text(3, 1), Do(str(n)), self.lucky(), self.lucky()) for n in range(count))

    def lucky(self) -> bool:
        """Draw yes or, more often, no."""
        return self.chance.random() < 0.2

    def items(self) -> pages.Items:
        """Draw lines of a list."""
        lines = range(self.chance.randint(0, 9))
        return pages.Items(
            tuple(
                PlanItem(
                    n * self.lucky(), self.text(5, 1), self.text(8), self.text(2), self.text(4), Do("x"), self.lucky()
                )
                for n in lines
            )
        )

    def table(self) -> pages.Table:
        """Draw a table."""
        columns = range(self.chance.randint(1, 6))
        rows = range(self.chance.randint(0, 4))
        cells = tuple(tuple(self.text(3) for _ in columns) for _ in rows)
        return pages.Table(tuple(self.text(2) for _ in columns), cells)

    def stages(self) -> pages.Stages:
        """Draw the steps of a way."""
        steps = self.buttons(7)
        return pages.Stages(steps, tuple(self.lucky() for _ in steps), self.chance.randrange(len(steps)))

    def share(self) -> pages.Share:
        """Draw picks."""
        counts = tuple(self.chance.choice((0, 1, 2.5, 9)) for _ in range(self.chance.randint(1, 8)))
        return pages.Share(self.text(4), tuple(self.text(2) for _ in counts), counts, self.text(3))

    def balance(self) -> pages.Balance:
        """Draw versions."""
        count = self.chance.randint(1, 8)
        return pages.Balance(tuple(Button(self.text(2, 1), Listen(n + 1)) for n in range(count)), self.text(4))

    def sheet(self) -> pages.Sheet:
        """Draw a sheet."""
        return pages.Sheet(
            self.text(4), tuple(self.part(False) for _ in range(self.chance.randint(0, 4))), self.text(8)
        )

    def part(self, outside: bool = True) -> pages.Part:
        """Draw any part."""
        kinds: list[Callable[[], pages.Part]] = [
            lambda: pages.Prose(self.text(20), self.chance.choice(ROLES)),
            lambda: pages.Choices(self.buttons(5)),
            lambda: pages.Picture(response_figure(520, 200)),
            lambda: pages.Entry(self.text(2), self.text(20), self.text(4), self.buttons(6) if self.lucky() else ()),
            lambda: pages.Advance(self.chance.random(), self.text(8)),
            lambda: pages.Tally(self.text(4), tuple(self.chance.choices(MARKS, k=30)), self.text(4)),
            self.items, self.table, self.stages, self.share, self.balance,
        ]  # fmt: skip
        return self.chance.choice([*kinds, self.sheet] if outside else kinds)()

    def page(self) -> pages.PageView:
        """Draw a page."""
        columns = range(self.chance.randint(1, 2))
        foot = ((), (pages.Choices(self.buttons(4)),), (pages.Loop(), pages.Choices(self.buttons(4))))
        return pages.PageView(
            replace(sample_pages.place_frame("weigh"), title=self.text(3) if self.lucky() else ""),
            self.text(5),
            self.text(9),
            tuple(tuple(self.part() for _ in range(self.chance.randint(0, 3))) for _ in columns),
            (1.0,) * len(columns),
            self.chance.choice(foot),
            sample_views.waveform(),
            Sounding(1, 0.4, True),
            self.lucky(),
        )


@pytest.mark.parametrize("seed", range(60))
def test_any_page_is_whole(seed: int) -> None:
    """On a window so tall that nothing is scrolled, and on a usual one; lines, offers, and the window's edge."""
    page = Lot(seed).page()
    for size, percent in (((1280, 6000), (80, 100, 150, 200)[seed % 4]), ((960, 600), 100)):
        pen = draw(sample_views.restyle(page, "paper", percent), size, LETTERING)
        assert all(pen.surface.get_rect().contains(line.box) for line in pen.written)
        for one, other in combinations([line for line in pen.written if line.layer == 0], 2):
            smaller = [line.box.inflate(-2, -line.box.height // 6) for line in (one, other)]
            assert not smaller[0].colliderect(smaller[1]), (one, other)
        for hit, next_hit in combinations([hit.box for hit in pen.hits if hit.box.width], 2):
            assert not hit.colliderect(next_hit), (hit, next_hit)
