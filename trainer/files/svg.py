"""Figures as SVG, with the same shapes and colours as in the window."""

from __future__ import annotations

from xml.sax.saxutils import escape, quoteattr

from trainer.session.figure import Area, Figure, Label, Mark, Path, Point, Shape
from trainer.session.palette import Rgb, Theme, shape_colour, word_colour

_ANCHORS = {"left": "start", "middle": "middle", "right": "end"}
_WEIGHTS = {"light": 300, "regular": 400, "bold": 700}
_MARGIN = 16.0


def write_svg(figure: Figure, theme: Theme) -> str:
    """Write a figure as an SVG 1.1 document on the theme's sheet.

    Parameters
    ----------
    figure : Figure
        Shapes in design pixels.
    theme : {"paper", "night"}
        Colours.

    Returns
    -------
    str
        The document; words stay words, set in Lato where it is installed.
    """
    width, height = figure.width + 2 * _MARGIN, figure.height + 2 * _MARGIN
    view = f"{_number(-_MARGIN)} {_number(-_MARGIN)} {_number(width)} {_number(height)}"
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_number(width)}" height="{_number(height)}" '
        f'viewBox="{view}" font-family="Lato, sans-serif" role="img">',
        f"<title>{_words(figure.described)}</title>",
        f'<rect x="{_number(-_MARGIN)}" y="{_number(-_MARGIN)}" width="{_number(width)}" '
        f'height="{_number(height)}" fill="{_hex(shape_colour(theme, "sheet"))}"/>',
        *(_write_shape(shape, theme) for shape in figure.shapes),
        "</svg>",
    ]
    return "\n".join(lines) + "\n"


def _write_shape(shape: Shape, theme: Theme) -> str:
    """Write one shape as an element."""
    if isinstance(shape, Label):
        return _write_label(shape, theme)
    colour = _hex(shape_colour(theme, shape.colour))
    if isinstance(shape, Path):
        return (
            f'<polyline points="{_points(shape.points)}" fill="none" stroke="{colour}" '
            f'stroke-width="{_number(shape.width)}" stroke-linecap="butt" stroke-linejoin="round"/>'
        )
    if isinstance(shape, Area):
        return f'<polygon points="{_points(shape.points)}" fill="{colour}" fill-opacity="{_number(shape.opacity)}"/>'
    return _write_mark(shape, colour)


def _write_mark(mark: Mark, colour: str) -> str:
    """Write a dot, a ring or a cross."""
    (x, y), radius = mark.at, mark.radius
    if mark.shape == "cross":
        arm = 0.85 * radius
        ends = [(x - arm, y - arm), (x + arm, y + arm), (x - arm, y + arm), (x + arm, y - arm)]
        (a, b), (c, d), (e, f), (g, h) = ((_number(px), _number(py)) for px, py in ends)
        return (
            f'<path d="M{a} {b}L{c} {d}M{e} {f}L{g} {h}" stroke="{colour}" '
            f'stroke-width="{_number(max(1.5, 0.45 * radius))}"/>'
        )
    at = f'cx="{_number(x)}" cy="{_number(y)}"'
    if mark.shape == "dot":
        return f'<circle {at} r="{_number(radius)}" fill="{colour}"/>'
    width = max(1.5, 0.4 * radius)
    return (
        f'<circle {at} r="{_number(radius - width / 2)}" fill="none" stroke="{colour}" '
        f'stroke-width="{_number(width)}"/>'
    )


def _write_label(label: Label, theme: Theme) -> str:
    """Write a line of text."""
    return (
        f'<text x="{_number(label.at[0])}" y="{_number(label.at[1])}" font-size="{_number(label.size)}" '
        f'font-weight="{_WEIGHTS[label.weight]}" text-anchor={quoteattr(_ANCHORS[label.anchor])} '
        f'fill="{_hex(word_colour(theme, label.colour))}">{_words(label.text)}</text>'
    )


def _words(text: str) -> str:
    """Escape a text; control characters, which XML does not know, become spaces."""
    return escape("".join(letter if letter.isprintable() or letter == "\u202f" else " " for letter in text))


def _points(points: tuple[Point, ...]) -> str:
    return " ".join(f"{_number(x)},{_number(y)}" for x, y in points)


def _number(value: float) -> str:
    """Write a coordinate to a hundredth, without superfluous zeros."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _hex(colour: Rgb) -> str:
    return "#{:02x}{:02x}{:02x}".format(*colour)
