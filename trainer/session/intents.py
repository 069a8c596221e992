"""What a person may want, whatever the face: a key, a click or a typed line becomes one of these."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Aid = Literal["mono", "sides", "swapped", "quiet"]


@dataclass(frozen=True)
class StartDrill:
    """Begin a drill by its name."""

    drill: str


@dataclass(frozen=True)
class Listen:
    """Hear a version, counted from 1."""

    version: int


@dataclass(frozen=True)
class ListenOther:
    """Hear the next (+1) or previous (-1) version."""

    step: int


@dataclass(frozen=True)
class OnlyWhatChanged:
    """Hear the difference of the versions; after the answer only."""


@dataclass(frozen=True)
class ToggleSound:
    """Pause or go on."""


@dataclass(frozen=True)
class ToggleMonitoring:
    """Hear with an aid or without it again: mono, the sides only, left and right swapped, quiet; not in a question."""

    aid: Aid


@dataclass(frozen=True)
class ChooseTones:
    """Choose what sounds after each answer, from wherever one is."""

    choice: str


@dataclass(frozen=True)
class GiveAnswer:
    """Answer in the form's words: a version's number, a listed answer, an amount."""

    text: str


@dataclass(frozen=True)
class MoveControl:
    """Move a question's control up (+1) or down (-1)."""

    step: int


@dataclass(frozen=True)
class PutNext:
    """Put a version next in the order, the least first; 0 begins again."""

    version: int


@dataclass(frozen=True)
class MarkNow:
    """Mark this moment of a pass, with the name of what is heard; an empty one stands for anything."""

    kind: str = ""


@dataclass(frozen=True)
class AnswerPlaying:
    """Answer with the version that is playing."""


@dataclass(frozen=True)
class TakeBack:
    """Take back the last pick of the blind round that is open."""


@dataclass(frozen=True)
class GoOn:
    """Go to what comes next: the next trial, the end of the run, the first screen."""


@dataclass(frozen=True)
class ToggleReceipt:
    """Show or hide what was asked and what was measured."""


@dataclass(frozen=True)
class ToggleKeys:
    """Show or hide the list of keys."""


@dataclass(frozen=True)
class GoBack:
    """Leave what is shown; asks first where something would be left unfinished."""


@dataclass(frozen=True)
class ChangeTheme:
    """Change between the paper and the night theme."""


@dataclass(frozen=True)
class ChangeTextSize:
    """Make everything larger (+1) or smaller (-1)."""

    step: int


@dataclass(frozen=True)
class GoTo:
    """Go to a part of the program."""

    place: str


@dataclass(frozen=True)
class Do:
    """Do what a page offers, by its name there, with a value where it takes one."""

    what: str
    value: str = ""


@dataclass(frozen=True)
class TypeText:
    """Add to the line that is typed."""

    text: str


@dataclass(frozen=True)
class SetText:
    """Put another line in the place of the one that is typed."""

    text: str


@dataclass(frozen=True)
class EraseText:
    """Take the last character of the line away, or the whole line."""

    whole: bool = False


@dataclass(frozen=True)
class CompleteText:
    """Complete the line as far as there is only one way."""


@dataclass(frozen=True)
class DropFile:
    """Take a file that was dropped on the window."""

    path: str


@dataclass(frozen=True)
class Quit:
    """End the program."""


Intent = (
    StartDrill
    | Listen
    | ListenOther
    | OnlyWhatChanged
    | ToggleSound
    | ToggleMonitoring
    | ChooseTones
    | GiveAnswer
    | MoveControl
    | PutNext
    | MarkNow
    | AnswerPlaying
    | TakeBack
    | GoOn
    | ToggleReceipt
    | ToggleKeys
    | GoBack
    | ChangeTheme
    | ChangeTextSize
    | GoTo
    | Do
    | TypeText
    | SetText
    | EraseText
    | CompleteText
    | DropFile
    | Quit
)
