"""The beam: versions at equal loudness on a balance that stays level."""

from __future__ import annotations

import math
from dataclasses import dataclass

import pygame

from trainer.session.intents import Listen, OnlyWhatChanged
from trainer.session.palette import Rgb
from trainer.session.view import Button, Sounding
from trainer.ui import paint
from trainer.ui.pen import Pen
from trainer.ui.theme import BODY, LABEL, SMALL, Look, Style

_RADIUS = 58
_LEAST_RADIUS = 30
_APART = 280
_BELOW = 66
_LEAST_BELOW = 44


@dataclass(frozen=True)
class Beam:
    """Show versions as discs on the beam; a label longer than two letters stands above its disc."""

    versions: tuple[Button, ...]
    balance: str
    sounding: Sounding

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the heights with the smallest and the largest discs."""
        fixed = self._label_height(pen, width) + pen.leading(BODY)
        least, wished = self._radii(pen, width)
        return fixed + 2 * least + pen.px(_LEAST_BELOW), fixed + 2 * wished + pen.px(_BELOW)

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Draw labels, discs, beam, fulcrum and the common loudness."""
        labels, room = self._label_height(pen, box.width), box.height - pen.leading(BODY)
        least, wished = self._radii(pen, box.width)
        below = pen.px(_BELOW) if room - labels >= 2 * wished + pen.px(_BELOW) else pen.px(_LEAST_BELOW)
        radius = max(least, min(wished, (room - labels - below) // 2))
        apart, count = self._apart(pen, box.width), len(self.versions)
        first = box.left + box.width / 2 - apart * (count - 1) / 2
        middle = box.top + labels + radius
        for index, version in enumerate(self.versions):
            at = (round(first + index * apart), middle)
            self._draw_label(pen, caption(version, index), at[0], box.top, labels, apart)
            draw_disc(pen, at, radius, glyph(version, index), version, self.sounding)
        centres = [first + apart * index for index in range(count)]
        foot = _draw_balance(pen, centres, box.left + box.width / 2, middle + radius, radius, below)
        room_for_words = pygame.Rect(box.left, foot, box.width, pen.leading(BODY))
        pen.write_in(pen.shorten(self.balance, BODY, box.width), room_for_words, BODY, "muted")

    def _apart(self, pen: Pen, width: int) -> float:
        """Give the distance between neighbours."""
        widest = _APART if len(self.versions) > 2 else _APART * 1.3
        return min(pen.px(widest), width / max(1, len(self.versions)))

    def _radii(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the least and the wished radius of a disc; larger text makes larger discs."""
        larger = min(1.6, max(1.0, pen.look.type_scale / pen.look.unit))
        most = int(self._apart(pen, width) * 0.42)
        return min(most, round(pen.px(_LEAST_RADIUS) * larger)), min(most, round(pen.px(_RADIUS) * larger))

    def _label_height(self, pen: Pen, width: int) -> int:
        """Give the height of the tallest label above the discs."""
        room = self._apart(pen, width) - pen.px(16)
        above = [caption(version, index) for index, version in enumerate(self.versions)]
        longest = [len(pen.wrap(words, LABEL, int(room))) for words in above if words]
        return max(longest) * pen.leading(LABEL) + pen.px(8) if longest else 0

    def _draw_label(self, pen: Pen, words: str, x: int, top: int, tall: int, apart: float) -> None:
        """Write what a version is called, its last line just above the disc."""
        if not words:
            return
        lines = pen.wrap(words, LABEL, int(apart - pen.px(16)))
        y = top + tall - pen.px(8) - len(lines) * pen.leading(LABEL)
        for line in lines:
            row = pygame.Rect(round(x - apart / 2), y, round(apart), pen.leading(LABEL))
            pen.write_in(line, row, LABEL, "ink")
            y += pen.leading(LABEL)


def glyph(version: Button, index: int) -> str:
    """Give what stands in the disc: a short label itself, otherwise the version's number."""
    if len(version.label) <= 2:
        return version.label
    return str(version.intent.version if isinstance(version.intent, Listen) else index + 1)


def caption(version: Button, index: int) -> str:
    """Give what stands above the disc: a longer label, without the number that the disc shows already."""
    return "" if len(version.label) <= 2 else version.label.removeprefix(f"{glyph(version, index)}, ")


def sounds(version: Button, sounding: Sounding) -> bool:
    """Tell whether this is the version that is heard now."""
    if isinstance(version.intent, Listen):
        return version.intent.version == sounding.version
    if isinstance(version.intent, OnlyWhatChanged):
        return sounding.version == 0
    return version.selected


def draw_disc(pen: Pen, at: tuple[int, int], radius: int, sign: str, version: Button, sounding: Sounding) -> None:
    """Draw one version: filled with ink and named "playing" or "paused" while it is the one that is heard."""
    look, heard = pen.look, sounds(version, sounding)
    box = pygame.Rect(at[0] - radius, at[1] - radius, 2 * radius, 2 * radius)
    touch = pen.offer(box, version.intent)
    if heard:
        paint.disc(pen.surface, at, radius, look.shape("ink"))
    else:
        edge = look.shape("muted") if touch.hovered else look.shape("rule")
        fill = look.hovered(look.shape("sheet")) if touch.hovered else look.shape("sheet")
        paint.disc(pen.surface, at, radius, edge)
        paint.disc(pen.surface, at, radius - max(1, pen.px(2)), fill)
    words: Rgb = look.shape("ground") if heard else look.word("ink")
    number = Style(0.74 * radius / look.type_scale, "light")
    pen.write_in(sign, box.move(0, -round(0.12 * radius) if heard else 0), number, words)
    if heard:
        wanted = min(max(0.245 * radius, pen.size(SMALL)), 0.34 * radius)
        small = Style(wanted / look.type_scale)
        word = "playing" if sounding.playing else "paused"
        pen.write_in(word, box.move(0, round(0.5 * radius)), small, words)
    if touch.focused:
        pen.ring(box, radius)


def _draw_balance(pen: Pen, centres: list[float], middle: float, top: int, radius: int, below: int) -> int:
    """Draw plates, beam and fulcrum below the discs and return where they end."""
    ink = pen.look.shape("ink")
    thick = max(2, pen.px(3))
    beam_top = top + round(below * 0.22)
    plate = round(radius * 0.58)
    first, last = centres[0], centres[-1]
    for centre in centres:
        pen.surface.fill(ink, pygame.Rect(round(centre - plate), beam_top - thick, 2 * plate, thick))
    pen.surface.fill(ink, pygame.Rect(round(first - plate * 1.2), beam_top, round(last - first + plate * 2.4), thick))
    foot = top + below - round(below * 0.1)
    half = max(8, round((foot - beam_top) * 0.42))
    paint.area(pen.surface, [(middle, beam_top + thick), (middle - half, foot), (middle + half, foot)], ink)
    base = pygame.Rect(round(middle - half * 3.6), foot - 1, round(half * 7.2), max(1, pen.px(2)))
    pen.surface.fill(ink, base)
    return foot + pen.px(6)


def draw_waiting(surface: pygame.Surface, look: Look, box: pygame.Rect, seconds: float) -> None:
    """Draw a small balance that rocks slowly: something is being worked on."""
    ink = look.shape("ink")
    tilt = 0.11 * math.sin(2 * math.pi * seconds / 1.8)
    middle, half = (box.centerx, box.top + box.height * 0.5), box.width * 0.38
    ends = [(middle[0] + way * half * math.cos(tilt), middle[1] + way * half * math.sin(tilt)) for way in (-1, 1)]
    weight = max(2.0, box.width * 0.03)
    paint.line(surface, ends, weight, ink)
    for end in ends:
        paint.disc(surface, (end[0], end[1] - box.width * 0.11), box.width * 0.085, ink)
    foot, side = box.top + box.height * 0.86, box.width * 0.09
    paint.area(
        surface,
        [(middle[0], middle[1] + weight / 2), (middle[0] - side, foot), (middle[0] + side, foot)],
        ink,
    )
