"""Everything a screen may show, already worded. A face draws these and decides nothing.

While a question is open, nothing in a view depends on which version is processed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from trainer.session.figure import Figure
from trainer.session.intents import Intent

Progress = Literal["right", "wrong", "done", "current", "ahead"]


@dataclass(frozen=True)
class Key:
    """Name keys, what they do, and what each of them means.

    Parameters
    ----------
    label : str
        As printed on a pill: ``1 2 3``, ``Enter``, ``Space``.
    does : str
        In a few words.
    bindings : tuple of (str, Intent)
        Key name (``1``, ``return``, ``space``, ``d``, ``question``, ``escape``, ``left`` ...) and its intent.
    shown : bool
        Whether the key has a pill in the footer; all are in the list of keys.
    """

    label: str
    does: str
    bindings: tuple[tuple[str, Intent], ...]
    shown: bool = True


@dataclass(frozen=True)
class Button:
    """Offer an intent as something to click; ``main`` is the one accent of the screen."""

    label: str
    intent: Intent
    main: bool = False
    selected: bool = False


@dataclass(frozen=True)
class Waveform:
    """Outline of the unprocessed loop: peaks of 0–1, one a column, with its place in the song."""

    peaks: tuple[float, ...]
    start_text: str
    end_text: str
    caption: str


@dataclass(frozen=True)
class Frame:
    """What every screen has: title, second line, keys, and one line of notice (empty: none).

    ``places`` are the parts of the program that can be gone to from here, the one that is shown selected.
    """

    title: str
    subtitle: str
    keys: tuple[Key, ...]
    notice: str = ""
    footer: str = ""
    theme: Literal["paper", "night"] = "paper"
    text_percent: int = 100
    keys_open: bool = False
    places: tuple[Button, ...] = ()


@dataclass(frozen=True)
class Sounding:
    """What is playing: version from 1 (0: the difference), part of the loop 0–1, whether it runs; the loop's frames.

    ``heard`` says which aid to hearing is on and how it is switched off; empty for the sound as it is. ``aids`` says
    whether there are any, so that a line is kept for it.
    """

    version: int
    fraction: float
    playing: bool
    frames: int = 0
    heard: str = ""
    aids: bool = False


@dataclass(frozen=True)
class MessageView:
    """A page of plain sentences: the cautions, waiting, a problem, a question before leaving."""

    frame: Frame
    headline: str
    sentences: tuple[str, ...]
    buttons: tuple[Button, ...]
    busy: bool = False


@dataclass(frozen=True)
class PlanItem:
    """One drill of today's plan, or of the list."""

    number: int
    title: str
    detail: str
    amount: str
    note: str
    intent: Intent
    selected: bool


@dataclass(frozen=True)
class TodayView:
    """The first screen: what to do now, and where the ear stands."""

    frame: Frame
    headline: str
    sentence: str
    items: tuple[PlanItem, ...]
    start: Button
    ears_title: str
    ears: Figure
    caution: str


@dataclass(frozen=True)
class DemonstrationView:
    """A labelled example before the questions: the move large and named, two versions to hear."""

    frame: Frame
    marks: tuple[Progress, ...]
    headline: str
    sentence: str
    versions: tuple[Button, ...]
    balance: str
    waveform: Waveform
    sounding: Sounding
    go_on: Button


@dataclass(frozen=True)
class TrialView:
    """A question: versions on the beam, the loop, the answers."""

    frame: Frame
    marks: tuple[Progress, ...]
    versions: tuple[Button, ...]
    balance: str
    waveform: Waveform
    sounding: Sounding
    question: str
    answers: tuple[Button, ...]


@dataclass(frozen=True)
class ReceiptRow:
    """One quantity: asked (empty where nothing was asked) and measured from the audio."""

    name: str
    asked: str
    measured: str


@dataclass(frozen=True)
class RevealView:
    """The answer: what was done, asked and measured, and where the ear stands."""

    frame: Frame
    marks: tuple[Progress, ...]
    right: bool | None
    headline: str
    sentence: str
    teaching: str
    done_title: str
    done: Figure
    done_caption: str
    ear_title: str
    ear: Figure
    ear_caption: str
    receipt_title: str
    receipt: tuple[ReceiptRow, ...]
    receipt_open: bool
    waveform: Waveform
    sounding: Sounding
    versions: tuple[Button, ...]
    go_on: Button
    stop: Button | None = None


@dataclass(frozen=True)
class EndView:
    """The end of a run: what was learnt about the ear, honestly."""

    frame: Frame
    marks: tuple[Progress, ...]
    headline: str
    sentences: tuple[str, ...]
    ear_title: str
    ear: Figure
    ear_caption: str
    buttons: tuple[Button, ...]
