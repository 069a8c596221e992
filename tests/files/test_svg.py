"""Figures as SVG."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from trainer.files.svg import write_svg
from trainer.session.figure import Area, Figure, Label, Mark, Path
from trainer.session.palette import Theme, shape_colour, word_colour

SVG = "{http://www.w3.org/2000/svg}"
SHAPES = (
    Path(((0, 0), (10, 5)), "blue", 2),
    Area(((0, 0), (10, 0), (10, 10)), "green", 0.25),
    Mark((5, 5), "ink"),
    Mark((6, 5), "vermilion", 3, "ring"),
    Mark((7, 5), "vermilion", 3, "cross"),
    Label((1, 9), 'a < b & "c" \x07 −1 dB', "amber", 12, "bold", "right"),
)


def parse(theme: Theme = "paper") -> ElementTree.Element:
    """Read the document with the library's own parser."""
    return ElementTree.fromstring(write_svg(Figure(100, 50, SHAPES, "Test <figure>"), theme))


def test_document_is_well_formed_and_keeps_the_words() -> None:
    """Words survive a standard XML parser (W3C XML 1.0), but for characters it does not allow."""
    root = parse()
    label = root.find(f"{SVG}text")
    assert label is not None and label.text == 'a < b & "c"   −1 dB'
    assert label.get("text-anchor") == "end" and label.get("font-weight") == "700"
    title = root.find(f"{SVG}title")
    assert title is not None and title.text == "Test <figure>"


def test_each_shape_becomes_its_element() -> None:
    """SVG 1.1 (W3C, 2011): polyline, polygon, circle, path and text are its basic shapes."""
    kinds = [child.tag.removeprefix(SVG) for child in parse()]
    assert kinds == ["title", "rect", "polyline", "polygon", "circle", "circle", "path", "text"]


@pytest.mark.parametrize("theme", ["paper", "night"])
def test_colours_are_those_of_the_theme(theme: Theme) -> None:
    """The same table colours window and file."""
    root = parse(theme)
    line, text = root.find(f"{SVG}polyline"), root.find(f"{SVG}text")
    assert line is not None and text is not None
    assert line.get("stroke") == "#{:02x}{:02x}{:02x}".format(*shape_colour(theme, "blue"))
    assert text.get("fill") == "#{:02x}{:02x}{:02x}".format(*word_colour(theme, "amber"))


def test_figure_lies_within_the_document() -> None:
    """The view holds the whole figure."""
    left, top, width, height = (float(part) for part in (parse().get("viewBox") or "").split())
    assert left <= 0 and top <= 0 and left + width >= 100 and top + height >= 50
