"""Pages of plain parts: whatever is no question. A face draws each part in its own way, and says it in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from trainer.session.figure import Figure
from trainer.session.intents import Intent, SetText
from trainer.session.view import (
    Button,
    DemonstrationView,
    EndView,
    Frame,
    MessageView,
    PlanItem,
    Progress,
    RevealView,
    Sounding,
    TodayView,
    TrialView,
    Waveform,
)

Role = Literal["body", "muted", "small", "title", "figure"]


@dataclass(frozen=True)
class Prose:
    """Say something: plain, in the background, as a heading, or large as a result."""

    text: str
    role: Role = "body"


@dataclass(frozen=True)
class Choices:
    """Offer buttons side by side."""

    buttons: tuple[Button, ...]


@dataclass(frozen=True)
class Items:
    """Offer lines of a list, one below the other."""

    items: tuple[PlanItem, ...]


@dataclass(frozen=True)
class Picture:
    """Show a figure; its ``described`` says it in words."""

    figure: Figure


@dataclass(frozen=True)
class Table:
    """Set words in columns; the first column is read first, the others stand to the right of it."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Entry:
    """Take a line of text.

    Parameters
    ----------
    label : str
        What it is for.
    text : str
        What has been typed.
    hint : str
        What may be typed, shown while it is empty.
    offers : tuple of Button
        What the line may be completed to.
    does : str
        What Enter does with what was typed, in a few words; empty where the main button takes it.
    """

    label: str
    text: str
    hint: str = ""
    offers: tuple[Button, ...] = ()
    does: str = ""

    @property
    def way_up(self) -> Button | None:
        """The offer that leaves only the beginning of the line: the folder above, if the line is a path."""
        return next((offer for offer in self.offers if _begins(self.text, offer.intent)), None)


@dataclass(frozen=True)
class Advance:
    """Show how far a long work is: a part of it, 0–1, and what is being done."""

    fraction: float
    words: str


@dataclass(frozen=True)
class Balance:
    """Set versions on the beam, with their common loudness below; what sounds is the page's."""

    versions: tuple[Button, ...]
    words: str


@dataclass(frozen=True)
class Loop:
    """Show the page's waveform with its playhead."""


@dataclass(frozen=True)
class Stages:
    """Show the steps of a longer way: those behind, the one that is open, those ahead.

    Parameters
    ----------
    steps : tuple of Button
        In order; each opens its step.
    done : tuple of bool
        Which are finished.
    current : int
        Which one is open, from 0.
    """

    steps: tuple[Button, ...]
    done: tuple[bool, ...]
    current: int


@dataclass(frozen=True)
class Tally:
    """Show a row of answers as marks, with a title and the sum in words."""

    title: str
    marks: tuple[Progress, ...]
    sum: str


@dataclass(frozen=True)
class Share:
    """Show how picks split between names, as parts of one bar, each with its count."""

    title: str
    names: tuple[str, ...]
    counts: tuple[float, ...]
    sum: str


@dataclass(frozen=True)
class Sheet:
    """Set parts on a sheet of their own, under a title."""

    title: str
    parts: tuple[Part, ...]
    caption: str = ""


Part = Prose | Choices | Items | Picture | Table | Entry | Advance | Balance | Loop | Stages | Tally | Share | Sheet


@dataclass(frozen=True)
class PageView:
    """A page of parts in one or two columns; at most one of them takes text.

    Parameters
    ----------
    frame : Frame
        Title, keys, notice.
    headline, sentence : str
        At the top.
    columns : tuple of tuple of Part
        One or two, side by side where there is room.
    widths : tuple of float
        The columns' parts of the width.
    dock : tuple of Part
        What stays in sight at the foot.
    waveform, sounding : optional
        Of the loop that can be heard here.
    busy : bool
        Something is being worked on.
    words : str
        What may be answered in words by a face that takes lines; empty for nothing.
    """

    frame: Frame
    headline: str
    sentence: str
    columns: tuple[tuple[Part, ...], ...]
    widths: tuple[float, ...] = (1.0,)
    dock: tuple[Part, ...] = ()
    waveform: Waveform | None = None
    sounding: Sounding | None = None
    busy: bool = False
    words: str = ""

    @property
    def entry(self) -> Entry | None:
        """The part that takes text, if there is one."""
        return next((part for part in self.list_parts() if isinstance(part, Entry)), None)

    def list_parts(self) -> tuple[Part, ...]:
        """List all parts in the order in which they are read; of a sheet its parts."""
        found: list[Part] = []
        for part in (*(part for column in self.columns for part in column), *self.dock):
            found += part.parts if isinstance(part, Sheet) else (part,)
        return tuple(found)


def _begins(text: str, intent: Intent) -> bool:
    """Tell whether an intent puts the beginning of a text in its place."""
    return isinstance(intent, SetText) and text != intent.text and text.startswith(intent.text)


View = MessageView | TodayView | DemonstrationView | TrialView | RevealView | EndView | PageView
