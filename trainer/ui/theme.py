"""Sizes and colours for one window size, text size and theme."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from trainer.session.figure import Colour, Weight
from trainer.session.palette import ACCENTS, Rgb, Theme, blend, shape_colour, word_colour

DESIGN = (1280, 800)
SMALLEST = (960, 600)
_LEAST_UNIT = 0.86
Accent = Literal["go", "begin"]


@dataclass(frozen=True)
class Style:
    """Height of the type in design pixels and its weight."""

    size: float
    weight: Weight = "regular"


HEADLINE = Style(32, "light")
QUESTION = Style(27, "regular")
SENTENCE = Style(17, "regular")
BODY = Style(15, "regular")
SMALL = Style(13, "regular")
LABEL = Style(15, "bold")
TITLE = Style(19, "bold")
WORDMARK = Style(21, "bold")
ANSWER = Style(18, "bold")
FIGURES = Style(26, "light")


@dataclass(frozen=True)
class Look:
    """Colours and scale factors: ``unit`` for distances and shapes, ``type_scale`` for words."""

    name: Theme
    unit: float
    type_scale: float

    def px(self, design: float) -> int:
        """Give a distance in whole pixels of the window."""
        return round(design * self.unit)

    def type_px(self, design: float) -> int:
        """Give a distance that grows with the text, in whole pixels."""
        return round(design * self.type_scale)

    def shape(self, role: Colour) -> Rgb:
        """Give the colour of a shape."""
        return shape_colour(self.name, role)

    def word(self, role: Colour) -> Rgb:
        """Give the colour of words."""
        return word_colour(self.name, role)

    def accent(self, accent: Accent) -> Rgb:
        """Give the fill of the main button."""
        return ACCENTS[accent]

    def hovered(self, colour: Rgb) -> Rgb:
        """Give a fill under the pointer."""
        return blend(colour, self.shape("ink"), 0.07)


def unit_for(width: int, height: int) -> float:
    """Give window pixels per design pixel, 1 at 1280 by 800.

    A window between 960 by 600 and that size is laid out more tightly instead of becoming too small to read.
    """
    if width < SMALLEST[0] or height < SMALLEST[1]:
        return max(0.3, _LEAST_UNIT * min(width / SMALLEST[0], height / SMALLEST[1]))
    return max(_LEAST_UNIT, min(width / DESIGN[0], height / DESIGN[1]))


def choose_theme(name: Theme, size: tuple[int, int], text_percent: int) -> Look:
    """Choose colours and scales for a window size in pixels and a text size of 80–250 %."""
    unit = unit_for(*size)
    return Look(name, unit, unit * min(max(text_percent, 50), 300) / 100)
