"""Pictures of data as plain shapes, drawn alike to the window and to files.

A figure is measured in design pixels, origin at its top left corner. Colours are roles of the theme, not values,
so that one figure serves the light and the dark theme.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Colour = Literal["ink", "muted", "rule", "ground", "sheet", "blue", "vermilion", "green", "amber"]
Weight = Literal["light", "regular", "bold"]
Anchor = Literal["left", "middle", "right"]
Point = tuple[float, float]


@dataclass(frozen=True)
class Path:
    """Draw a line through points, ``width`` design pixels wide."""

    points: tuple[Point, ...]
    colour: Colour
    width: float = 1.0


@dataclass(frozen=True)
class Area:
    """Fill a closed outline with a colour at an opacity of 0–1."""

    points: tuple[Point, ...]
    colour: Colour
    opacity: float = 1.0


@dataclass(frozen=True)
class Mark:
    """Draw one point of data: a filled dot, an open ring, or a cross."""

    at: Point
    colour: Colour
    radius: float = 4.0
    shape: Literal["dot", "ring", "cross"] = "dot"


@dataclass(frozen=True)
class Label:
    """Write a line of text; ``at`` is on its baseline's left end, middle or right end."""

    at: Point
    text: str
    colour: Colour = "muted"
    size: float = 13.0
    weight: Weight = "regular"
    anchor: Anchor = "left"


Shape = Path | Area | Mark | Label


@dataclass(frozen=True)
class Figure:
    """Hold the shapes of one picture, drawn in their order."""

    width: float
    height: float
    shapes: tuple[Shape, ...]
    described: str = ""
