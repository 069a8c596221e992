"""Colours of the two themes by role, for the window and for pictures in files.

The accents are the colour-blind-safe set of Okabe and Ito (Color Universal Design, 2008), made darker on
paper and lighter at night until they reach the contrast that WCAG 2.2 asks for: 4.5 : 1 for words (success
criterion 1.4.3), 3 : 1 for graphics (1.4.11).
"""

from __future__ import annotations

from typing import Literal

from trainer.session.figure import Colour

Theme = Literal["paper", "night"]
Rgb = tuple[int, int, int]

SHAPES: dict[Theme, dict[Colour, Rgb]] = {
    "paper": {
        "ground": (247, 243, 234),
        "sheet": (253, 251, 246),
        "ink": (33, 37, 46),
        "muted": (98, 96, 90),
        "rule": (222, 215, 202),
        "blue": (0, 100, 160),
        "vermilion": (196, 80, 0),
        "green": (0, 112, 80),
        "amber": (190, 124, 0),
    },
    "night": {
        "ground": (24, 26, 31),
        "sheet": (32, 35, 42),
        "ink": (232, 228, 219),
        "muted": (160, 160, 156),
        "rule": (56, 60, 69),
        "blue": (86, 180, 233),
        "vermilion": (240, 130, 60),
        "green": (60, 200, 155),
        "amber": (230, 159, 0),
    },
}
"""Colours of lines, areas and marks."""

_WORDS: dict[Theme, dict[Colour, Rgb]] = {
    "paper": {"vermilion": (176, 70, 0), "amber": (138, 92, 0)},
    "night": {},
}

ACCENTS: dict[Literal["go", "begin"], Rgb] = {"go": (0, 114, 178), "begin": (176, 70, 0)}
"""Fill of the main button of a screen in both themes; its words are ``ON_ACCENT``."""

ON_ACCENT: Rgb = (255, 255, 255)


def shape_colour(theme: Theme, role: Colour) -> Rgb:
    """Give the colour of a line, an area or a mark.

    Parameters
    ----------
    theme : {"paper", "night"}
        Light or dark.
    role : Colour
        What the shape stands for.

    Returns
    -------
    tuple of int
        Red, green, blue, each 0–255.
    """
    return SHAPES[theme][role]


def word_colour(theme: Theme, role: Colour) -> Rgb:
    """Give the colour of words in a role: at least 4.5 : 1 on ground and on sheet for all but rule.

    Parameters
    ----------
    theme : {"paper", "night"}
        Light or dark.
    role : Colour
        What the words stand for.

    Returns
    -------
    tuple of int
        Red, green, blue, each 0–255.
    """
    return _WORDS[theme].get(role, SHAPES[theme][role])


def blend(under: Rgb, over: Rgb, opacity: float) -> Rgb:
    """Lay one colour over another at an opacity of 0–1."""
    red, green, blue = (round(a + (b - a) * opacity) for a, b in zip(under, over, strict=True))
    return red, green, blue
