"""Type: the bundled family at its final size, measured, broken into lines and rendered."""

from __future__ import annotations

from collections import OrderedDict
from importlib.resources import as_file, files
from io import BytesIO

import pygame

from trainer.session.figure import Weight
from trainer.session.palette import Rgb

_FILES: dict[Weight, str] = {
    "light": "Lato-Light.ttf",
    "regular": "Lato-Regular.ttf",
    "bold": "Lato-Bold.ttf",
}
_KEPT = 1024
_KEPT_SIZES = 4096
_JOINTS = "_-/\\."
_UNITS = frozenset({"dB", "dBTP", "dBFS", "dBA", "LUFS", "LU", "Hz", "kHz", "ms", "s", "%", "bits"})
CAPITAL = 0.717
ASCENT = 0.80
DESCENT = 0.21


def font_bytes(weight: Weight) -> bytes:
    """Read one of the bundled fonts."""
    with as_file(files("trainer.ui") / "fonts" / _FILES[weight]) as path:
        return path.read_bytes()


class Lettering:
    """Keep fonts and rendered lines, so that a line that stays costs nothing."""

    def __init__(self) -> None:
        self._bytes: dict[Weight, bytes] = {}
        self._fonts: dict[tuple[Weight, int], pygame.font.Font] = {}
        self._widths: dict[tuple[str, Weight, int], int] = {}
        self._wrapped: dict[tuple[str, Weight, int, int], list[str]] = {}
        self._lines: OrderedDict[tuple[str, Weight, int, Rgb], pygame.Surface] = OrderedDict()

    def font(self, weight: Weight, size_px: int) -> pygame.font.Font:
        """Give the font of a weight at a height in pixels."""
        key = (weight, max(1, size_px))
        if key not in self._fonts:
            if weight not in self._bytes:
                self._bytes[weight] = font_bytes(weight)
            self._fonts[key] = pygame.font.Font(BytesIO(self._bytes[weight]), key[1])
        return self._fonts[key]

    def width(self, text: str, weight: Weight, size_px: int) -> int:
        """Measure a line in pixels."""
        key = (text, weight, size_px)
        if key not in self._widths:
            if len(self._widths) >= _KEPT_SIZES:
                self._widths.clear()
            self._widths[key] = self.font(weight, size_px).size(text)[0]
        return self._widths[key]

    def render(self, text: str, weight: Weight, size_px: int, colour: Rgb) -> tuple[pygame.Surface, int]:
        """Render a line, or take it from the last ones; give it with the height of its baseline."""
        key = (text, weight, size_px, colour)
        font = self.font(weight, size_px)
        if key in self._lines:
            self._lines.move_to_end(key)
        else:
            self._lines[key] = font.render(text, True, colour)
            if len(self._lines) > _KEPT:
                self._lines.popitem(last=False)
        return self._lines[key], font.get_ascent()

    def wrap(self, text: str, weight: Weight, size_px: int, room: int) -> list[str]:
        """Break a text into lines no wider than ``room`` pixels; words that are too long are broken.

        A number stays with its unit, and no word is left alone on the last line if the others can be shorter.
        """
        key = (text, weight, size_px, room)
        if key not in self._wrapped:
            if len(self._wrapped) >= _KEPT_SIZES:
                self._wrapped.clear()
            self._wrapped[key] = self._keep_company(text, weight, size_px, room)
        return self._wrapped[key]

    def _keep_company(self, text: str, weight: Weight, size_px: int, room: int) -> list[str]:
        """Fill lines; where one word would be alone on the last one, fill shorter lines, as many."""
        lines = self._fill(text, weight, size_px, room)
        if len(lines) < 2 or " " in lines[-1] or " " not in lines[-2]:
            return lines
        shorter = self._fill(text, weight, size_px, self.width(lines[-2], weight, size_px) - 1)
        return shorter if len(shorter) == len(lines) and " " in shorter[-1] else lines

    def _fill(self, text: str, weight: Weight, size_px: int, room: int) -> list[str]:
        """Fill lines with words from the left."""
        lines: list[str] = []
        for word in self._join_units(text.split(" "), weight, size_px, room):
            longer = f"{lines[-1]} {word}" if lines else word
            if lines and self.width(longer, weight, size_px) <= room:
                lines[-1] = longer
            else:
                lines += self._break(word, weight, size_px, room)
        return lines or [""]

    def _join_units(self, words: list[str], weight: Weight, size_px: int, room: int) -> list[str]:
        """Join each unit to the number before it, where both fit in a line."""
        joined: list[str] = []
        for word in words:
            number = joined[-1] if joined else ""
            held = number[-1:].isdigit() and word.rstrip(".,;:)") in _UNITS
            if held and self.width(f"{number} {word}", weight, size_px) <= room:
                joined[-1] = f"{number} {word}"
            else:
                joined.append(word)
        return joined

    def shorten(self, text: str, weight: Weight, size_px: int, room: int) -> str:
        """Cut a line with an ellipsis if it is wider than ``room`` pixels."""
        if self.width(text, weight, size_px) <= room:
            return text
        kept = text
        while kept and self.width(kept.rstrip() + "…", weight, size_px) > room:
            kept = kept[:-1]
        return kept.rstrip() + "…"

    def _break(self, word: str, weight: Weight, size_px: int, room: int) -> list[str]:
        """Break one word where it must be; after a sign that joins the parts of a file's name if one is near."""
        pieces = [""]
        for letter in word:
            line = pieces[-1]
            if line and self.width(line + letter, weight, size_px) > room:
                joint = max(line.rfind(sign) for sign in _JOINTS) + 1
                cut = joint if joint > len(line) // 2 else len(line)
                pieces[-1:] = [line[:cut], line[cut:]]
            pieces[-1] += letter
        return pieces
