"""The bundled type: tabular figures, and a glyph for all that is written."""

from __future__ import annotations

from collections.abc import Sequence
from importlib.resources import files
from io import BytesIO

import pygame.freetype
import pytest

from tests.ui import samples
from tests.ui.canvas import draw
from trainer.session.figure import Weight
from trainer.ui import screens, widgets
from trainer.ui.lettering import Lettering, font_bytes

WEIGHTS: tuple[Weight, ...] = ("light", "regular", "bold")
SIGNS = "0123456789−–—·…’‘“”×≈∞±≥≤°←→↑↓%&/½'\"?!:;,.()[]+=\u202fàäåéèêëíñóöøőüçßæÄÖÅŁ"


def glyphs_of(weight: Weight, text: str) -> Sequence[tuple[float, ...] | None]:
    """Read the metrics of each glyph; None for one that the font lacks."""
    pygame.freetype.init()
    return pygame.freetype.Font(BytesIO(font_bytes(weight)), 1000).get_metrics(text)


@pytest.mark.parametrize("weight", WEIGHTS)
def test_figures_have_equal_advance(weight: Weight) -> None:
    """Tabular figures: numbers that change do not move what follows."""
    assert len({metric[4] for metric in glyphs_of(weight, "0123456789") if metric}) == 1
    lettering = Lettering()
    for size in (11, 13, 15, 17, 26):
        assert len({lettering.width(f"{digit}.{digit} dB", weight, size) for digit in range(10)}) == 1


@pytest.mark.parametrize("weight", WEIGHTS)
def test_signs_have_glyphs(weight: Weight) -> None:
    """Signs of the trade and letters of names exist in each weight."""
    missing = [sign for sign, metric in zip(SIGNS, glyphs_of(weight, SIGNS), strict=True) if metric is None]
    assert missing == []


def test_all_that_is_written_has_glyphs() -> None:
    """Every letter of every example and of the window's own sources."""
    used = {
        letter
        for view in samples.all_views().values()
        for line in draw(view, (1280, 800)).written
        for letter in line.text
    }
    for package in (screens, widgets):
        for path in files(package).iterdir():
            if path.name.endswith(".py"):
                used |= set(path.read_text(encoding="utf-8"))
    text = "".join(sorted(used - {"\n"}))
    for weight in WEIGHTS:
        missing = [sign for sign, metric in zip(text, glyphs_of(weight, text), strict=True) if metric is None]
        assert missing == []


def test_licence_is_bundled() -> None:
    """The SIL Open Font License 1.1, condition 2: its notice and text go with each copy."""
    text = (files("trainer.ui") / "fonts" / "OFL.txt").read_text(encoding="utf-8")
    assert "Reserved Font Name" in text and "SIL OPEN FONT LICENSE Version 1.1" in text


def test_wrapped_lines_fit_and_lose_nothing() -> None:
    """Property on sentences and on a word longer than the line."""
    lettering = Lettering()
    for text in ("Listen to the breath before the line.", "x" * 90, ""):
        lines = lettering.wrap(text, "regular", 17, 120)
        assert "".join(lines).replace(" ", "") == text.replace(" ", "")
        assert all(lettering.width(line, "regular", 17) <= 120 for line in lines)
    assert lettering.shorten("a long title", "regular", 17, 50).endswith("…")
