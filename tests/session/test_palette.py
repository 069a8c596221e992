"""Colours that can be read."""

from __future__ import annotations

from typing import get_args

import pytest

from trainer.session.figure import Colour
from trainer.session.palette import ACCENTS, ON_ACCENT, SHAPES, Rgb, Theme, blend, shape_colour, word_colour

THEMES: tuple[Theme, ...] = ("paper", "night")
ROLES: tuple[Colour, ...] = ("ink", "muted", "blue", "vermilion", "green", "amber")


def luminance(colour: Rgb) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    parts = [part / 255 for part in colour]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: Rgb, other: Rgb) -> float:
    """Contrast ratio as WCAG 2.2 defines it."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_contrast_of_black_on_white() -> None:
    """WCAG 2.2, definition of contrast ratio: 21 : 1 at most, for black on white."""
    assert contrast((0, 0, 0), (255, 255, 255)) == pytest.approx(21.0)
    assert contrast((118, 118, 118), (255, 255, 255)) == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("role", ROLES)
def test_words_have_enough_contrast(theme: Theme, role: Colour) -> None:
    """WCAG 2.2, 1.4.3: 4.5 : 1 for text, here on ground and on sheet."""
    for under in ("ground", "sheet"):
        assert contrast(word_colour(theme, role), SHAPES[theme][under]) >= 4.5


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("role", ROLES)
def test_shapes_have_enough_contrast(theme: Theme, role: Colour) -> None:
    """WCAG 2.2, 1.4.11: 3 : 1 for graphics that carry meaning."""
    for under in ("ground", "sheet"):
        assert contrast(shape_colour(theme, role), SHAPES[theme][under]) >= 3.0


def test_words_on_filled_buttons_have_enough_contrast() -> None:
    """WCAG 2.2, 1.4.3, for the main button and for a version filled with ink."""
    for fill in ACCENTS.values():
        assert contrast(ON_ACCENT, fill) >= 4.5
    for theme in THEMES:
        assert contrast(SHAPES[theme]["ground"], SHAPES[theme]["ink"]) >= 4.5


def test_every_role_has_a_colour() -> None:
    """No figure can ask for a colour that a theme lacks."""
    for theme in THEMES:
        assert set(SHAPES[theme]) == set(get_args(Colour))


def test_blend_goes_from_one_colour_to_the_other() -> None:
    """Closed form: linear in the opacity."""
    assert blend((0, 0, 0), (200, 100, 50), 0.5) == (100, 50, 25)
    assert blend((1, 2, 3), (9, 9, 9), 0.0) == (1, 2, 3)
