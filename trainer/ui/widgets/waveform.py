"""The loop's outline with the place that is heard now."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import pygame

from trainer.session.figure import Colour
from trainer.session.palette import Rgb, blend
from trainer.session.view import Sounding, Waveform
from trainer.ui.pen import Pen
from trainer.ui.theme import LABEL, SMALL, Look

_TALL = 104
_LEAST_TALL = 40
_WIDEST = 880
_LINES_WITH_ROOM = 24


@dataclass(frozen=True)
class Wave:
    """Show the outline of the unprocessed loop; what was heard of it is darker."""

    waveform: Waveform
    sounding: Sounding
    tall: float = _TALL
    on: Colour = "ground"

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the least and the wished height, captions included."""
        words = self._caption_height(pen, width)
        return pen.px(min(_LEAST_TALL, self.tall)) + words, pen.px(self.tall) + words

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Draw bars, playhead and captions, and note where the bars are."""
        inner = self._inner(pen, box)
        words = self._caption_height(pen, box.width)
        bars = pygame.Rect(inner.left, inner.top, inner.width, max(8, box.height - words))
        pen.wave, pen.wave_seen, pen.wave_on = bars, bars.clip(pen.surface.get_clip()), self.on
        draw_bars(pen.surface, pen.look, self.waveform, self.sounding, bars, self.on)
        row = pygame.Rect(inner.left, bars.bottom + pen.px(2), inner.width, pen.leading(SMALL))
        pen.write_in(self.waveform.start_text, row, SMALL, "muted", "left")
        pen.write_in(self.waveform.end_text, row, SMALL, "muted", "right")
        for line in self._caption_lines(pen, inner.width):
            pen.write_in(line, row, SMALL, "muted")
            row = row.move(0, pen.leading(SMALL))
        for line in self._heard_lines(pen, inner.width):
            said = pygame.Rect(inner.left, row.top, inner.width, pen.leading(LABEL))
            pen.write_in(line, said, LABEL, "ink")
            row = row.move(0, pen.leading(LABEL))

    def _inner(self, pen: Pen, box: pygame.Rect) -> pygame.Rect:
        width = min(box.width, widest(pen))
        return pygame.Rect(box.left + (box.width - width) // 2, box.top, width, box.height)

    def _caption_height(self, pen: Pen, width: int) -> int:
        width = min(width, widest(pen))
        heard = pen.leading(LABEL) * max(self._kept_lines(pen), len(self._heard_lines(pen, width)))
        return pen.leading(SMALL) * len(self._caption_lines(pen, width)) + heard + pen.px(2)

    def _kept_lines(self, pen: Pen) -> int:
        """Keep a line free for what may be said of an aid, so that nothing jumps; not where few lines fit at all."""
        return int(self.sounding.aids and pen.surface.get_height() >= _LINES_WITH_ROOM * pen.leading(LABEL))

    def _caption_lines(self, pen: Pen, width: int) -> list[str]:
        """Break the caption between the two times."""
        side = max(pen.width(text, SMALL) for text in (self.waveform.start_text, self.waveform.end_text))
        return pen.wrap(self.waveform.caption, SMALL, width - 2 * (side + pen.px(16)))

    def _heard_lines(self, pen: Pen, width: int) -> list[str]:
        """Break what is said of the way it is heard, where there is anything."""
        return pen.wrap(self.sounding.heard, LABEL, width) if self.sounding.heard else []


def widest(pen: Pen) -> int:
    """Give the greatest width of the loop and of what belongs to it; more where the text is larger."""
    return max(pen.px(_WIDEST), pen.look.type_px(_WIDEST))


def draw_bars(
    surface: pygame.Surface,
    look: Look,
    waveform: Waveform,
    sounding: Sounding,
    box: pygame.Rect,
    on: Colour = "ground",
) -> None:
    """Draw the bars of the outline and the playhead; nothing outside the box."""
    heard = look.shape("ink")
    ahead = blend(look.shape(on), look.shape("muted"), 0.55)
    split = round(box.width * min(max(sounding.fraction, 0.0), 1.0))
    pitch, bar = max(2, look.px(3)), max(1, look.px(2))
    bar = min(bar, pitch - 1)
    left = _strip(waveform.peaks, box.size, pitch, bar, heard, look.shape(on))
    right = _strip(waveform.peaks, box.size, pitch, bar, ahead, look.shape(on))
    surface.blit(left, box.topleft, pygame.Rect(0, 0, split, box.height))
    surface.blit(right, (box.left + split, box.top), pygame.Rect(split, 0, box.width - split, box.height))
    thick = max(2, look.px(2))
    x = min(max(box.left + split - thick // 2, box.left), box.right - thick)
    surface.fill(look.shape("vermilion"), pygame.Rect(x, box.top, thick, box.height))


def between(box: pygame.Rect, before: float, now: float, reach: int) -> pygame.Rect:
    """Give the part of the bars that changes when the playhead moves, wider by ``reach`` on both sides."""
    first, last = sorted(box.width * min(max(part, 0.0), 1.0) for part in (before, now))
    left = box.left + int(first) - reach
    return pygame.Rect(left, box.top, int(last - first) + 2 * reach + 2, box.height).clip(box)


@lru_cache(maxsize=8)
def _strip(
    peaks: tuple[float, ...], size: tuple[int, int], pitch: int, bar: int, colour: Rgb, ground: Rgb
) -> pygame.Surface:
    """Draw all bars in one colour."""
    strip = pygame.Surface(size)
    strip.fill(ground)
    columns = max(1, size[0] // pitch)
    tall = size[1] * 0.86
    for column in range(columns):
        first = column * len(peaks) // columns
        last = max(first + 1, (column + 1) * len(peaks) // columns)
        peak = max(peaks[first:last], default=0.0)
        height = max(bar, round(min(max(peak, 0.0), 1.0) * tall))
        strip.fill(colour, pygame.Rect(column * pitch, (size[1] - height) // 2, bar, height))
    return strip
