"""From the parts of a page to blocks that draw them, on the page itself or on a sheet."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pygame

from trainer.session import pages
from trainer.session.figure import Colour
from trainer.session.intents import Listen, OnlyWhatChanged
from trainer.session.pages import PageView, Part
from trainer.session.view import Button, Sounding
from trainer.ui.layout import Block, Space, Stack, Words
from trainer.ui.pen import Align, Pen
from trainer.ui.theme import ANSWER, BODY, FIGURES, LABEL, SENTENCE, SMALL, TITLE, Accent, Style
from trainer.ui.widgets.advance import AdvanceBar
from trainer.ui.widgets.beam import Beam, sounds
from trainer.ui.widgets.button import Buttons, Sound
from trainer.ui.widgets.card import Card
from trainer.ui.widgets.entry import EntryLine
from trainer.ui.widgets.figure import Drawing
from trainer.ui.widgets.plan import PlanCard
from trainer.ui.widgets.plan_line import PlanLine
from trainer.ui.widgets.split import SplitBar
from trainer.ui.widgets.stages import StageRow
from trainer.ui.widgets.table import TableRows
from trainer.ui.widgets.tally import TallyRow
from trainer.ui.widgets.waveform import Wave, widest

_NOTHING = Sounding(-1, 0.0, False)
_MEASURE = 680
_MOST_CARDS = 7
_PAGE_STYLES: dict[pages.Role, Style] = {
    "body": SENTENCE,
    "muted": SENTENCE,
    "small": SMALL,
    "title": TITLE,
    "figure": FIGURES,
}
_SHEET_STYLES = {**_PAGE_STYLES, "body": BODY, "muted": BODY, "title": LABEL}


@dataclass(frozen=True)
class Setting:
    """Where parts are set: on which page, on the ground or on a sheet, from the left or around the middle."""

    view: PageView
    on: Colour = "ground"
    align: Align = "left"
    wave: float = 104

    @property
    def accent(self) -> Accent:
        """Give the one accent of the page: that of the head where the parts of the program stand in it."""
        return "begin" if self.view.frame.places else "go"


@dataclass(frozen=True)
class Limited:
    """Keep a block no wider than the loop, where lines would grow too long to follow."""

    block: Block
    middle: bool = False

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the block's heights at its width."""
        return self.block.heights(pen, min(width, widest(pen)))

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Draw the block at the left, or in the middle."""
        width = min(box.width, widest(pen))
        left = box.left + ((box.width - width) // 2 if self.middle else 0)
        self.block.draw(pen, pygame.Rect(left, box.top, width, box.height))


def stack_parts(parts: tuple[Part, ...], setting: Setting) -> Stack:
    """Set parts below each other, closer where they belong together.

    Around the middle, beam, loop, words and buttons find their place by themselves.
    """
    blocks: list[Block] = []
    for before, part in zip((None, *parts), parts, strict=False):
        if before is not None:
            blocks.append(_space(before, part, setting))
        block = make_block(part, setting)
        own = isinstance(part, (pages.Balance, pages.Loop, pages.Prose, pages.Choices))
        blocks.append(block if own or setting.align == "left" else Limited(block, middle=True))
    return Stack(tuple(blocks))


def make_block(part: Part, setting: Setting) -> Block:
    """Give the block that draws one part."""
    if isinstance(part, pages.Prose):
        return _write(part, setting)
    if isinstance(part, pages.Choices):
        return _offer(part, setting)
    if isinstance(part, pages.Items):
        return _list(part, setting)
    if isinstance(part, pages.Picture):
        drawn = Drawing(part.figure) if part.figure.width > 0 else Space(0, 0)
        return drawn if setting.on == "sheet" else Card("", drawn)
    if isinstance(part, pages.Sheet):
        return Card(part.title, stack_parts(part.parts, replace(setting, on="sheet", align="left")), part.caption)
    return _show(part, setting)


def _show(
    part: pages.Table
    | pages.Entry
    | pages.Advance
    | pages.Balance
    | pages.Loop
    | pages.Stages
    | pages.Tally
    | pages.Share,
    setting: Setting,
) -> Block:
    """Give the block of a part that has one of its own."""
    view = setting.view
    if isinstance(part, pages.Loop):
        wave, sounding = view.waveform, view.sounding or _NOTHING
        return Wave(wave, sounding, setting.wave, setting.on) if wave else Space(0, 0)
    if isinstance(part, pages.Balance):
        return Beam(part.versions, part.words, view.sounding or _NOTHING)
    if isinstance(part, pages.Entry):
        return EntryLine(part, setting.on)
    if isinstance(part, pages.Table):
        return TableRows(part)
    if isinstance(part, pages.Advance):
        return AdvanceBar(part)
    if isinstance(part, pages.Stages):
        return StageRow(part, setting.align)
    return TallyRow(part) if isinstance(part, pages.Tally) else SplitBar(part)


def _write(part: pages.Prose, setting: Setting) -> Words:
    """Give the words of a part of prose."""
    style = (_SHEET_STYLES if setting.on == "sheet" else _PAGE_STYLES)[part.role]
    colour: Colour = "muted" if part.role in ("muted", "small") else "ink"
    return Words(part.text, style, colour, setting.align, _MEASURE)


def _offer(part: pages.Choices, setting: Setting) -> Buttons:
    """Give buttons; those that play versions say which one is heard."""
    on_sheet, states = setting.on == "sheet", tuple(_sound(button, setting.view) for button in part.buttons)
    return Buttons(
        part.buttons,
        setting.align,
        LABEL if on_sheet else ANSWER,
        40 if on_sheet else 48,
        96 if on_sheet else 144,
        setting.accent,
        states if any(state != "unknown" for state in states) else (),
    )


def _sound(button: Button, view: PageView) -> Sound:
    if not isinstance(button.intent, (Listen, OnlyWhatChanged)) or view.sounding is None:
        return "unknown"
    if not sounds(button, view.sounding):
        return "none"
    return "running" if view.sounding.playing else "held"


def _list(part: pages.Items, setting: Setting) -> Stack:
    """Give the lines of a list, as cards; more closely on a sheet, and where there are many."""
    if len(part.items) > _MOST_CARDS or setting.on == "sheet":
        chosen = [True, *(item.selected for item in part.items)]
        return Stack(
            tuple(PlanLine(item, not above, setting.on) for item, above in zip(part.items, chosen, strict=False))
        )
    blocks: list[Block] = []
    for item in part.items:
        blocks += [Space(12, 8)] if blocks else []
        blocks.append(PlanCard(item))
    return Stack(tuple(blocks))


def _space(before: Part, part: Part, setting: Setting) -> Space:
    """Give the room between two parts."""
    if isinstance(before, pages.Prose) and isinstance(part, pages.Prose):
        if part.role == "title":
            return Space(24, 12)
        return Space(4, 2) if before.role == "title" else Space(8, 4)
    if isinstance(before, pages.Prose) and before.role == "title":
        return Space(12, 8)
    wide = 16 if setting.on == "sheet" else 24
    return Space(wide, wide / 2)
