"""What the session asks of the world: sound, a clock, a history, songs and a place where trials are made."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any, Literal, Protocol

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from trainer.decisions.rounds import Round
    from trainer.decisions.sheet import Sheet
    from trainer.decisions.target import Target
    from trainer.exercise.history import StoredTrial
    from trainer.exercise.trial import PreparedTrial, TrialSpec

Samples = npt.NDArray[np.float32]


@dataclass(frozen=True)
class Output:
    """Say where sound goes.

    Parameters
    ----------
    kind : str
        ``portaudio``, ``sdl`` or ``silent``.
    name : str
        The device's name, for a person.
    rate_hz : int
        Rate at which frames are asked for.
    latency_s : float
        Time from asking for a frame to hearing it, as far as the system tells.
    note : str
        One line for the screen when sound goes another way than usual; empty otherwise.
    """

    kind: str
    name: str
    rate_hz: int
    latency_s: float
    note: str = ""

    @property
    def silent(self) -> bool:
        """Tell whether nothing can be heard."""
        return self.kind == "silent"


@dataclass(frozen=True)
class Playhead:
    """Say what is heard now: the frame within the loop, the version, and whether it runs."""

    frame: int
    version: int
    playing: bool


Channels = Literal["stereo", "mono", "sides", "swapped"]
FileKind = Literal["sound", "history"]


@dataclass(frozen=True)
class Monitoring:
    """Say how what plays is heard, where no question is open.

    Parameters
    ----------
    channels : str
        ``stereo`` as it is; ``mono``, half the sum on both sides; ``sides``, half the difference on both sides;
        ``swapped``, left and right exchanged.
    quiet : bool
        Whether it is heard 20 dB lower.
    """

    channels: Channels = "stereo"
    quiet: bool = False


UNCHANGED = Monitoring()
"""The sound as it is."""


class Player(Protocol):
    """Play one of several versions of a loop, all from one read position."""

    @property
    def output(self) -> Output:
        """Tell where sound goes now; changes when an output is lost."""
        ...

    def load(self, versions: Samples, rate_hz: int) -> None:
        """Take versions, shape (versions, frames, 2), paused at frame 0 with version 0 selected."""
        ...

    def play(self) -> None:
        """Start or go on, with a ramp; the first start after a load fades in more slowly."""
        ...

    def pause(self) -> None:
        """Stop with a ramp; the position is kept."""
        ...

    def select(self, version: int) -> None:
        """Fade to a version (0 or more) in 10 ms without moving the position."""
        ...

    def hear(self, how: Monitoring) -> None:
        """Glide to another way of hearing in 10 ms; whatever is loaded begins as it is."""
        ...

    def sound_notes(self, notes_hz: Sequence[float]) -> None:
        """Sound short soft notes, one after the other, over whatever plays or stands."""
        ...

    def position(self) -> Playhead:
        """Tell what is heard now, the output's latency taken off."""
        ...

    def take_interruptions(self) -> int:
        """Give the number of gaps in the sound since the last call, and start again from 0."""
        ...

    def close(self) -> None:
        """Ramp down and let the output go; safe to call twice."""
        ...


class Clock(Protocol):
    """Tell the time."""

    def now(self) -> datetime:
        """Tell the time of day, with its zone."""
        ...

    def monotonic_s(self) -> float:
        """Tell seconds that never run backwards."""
        ...


class Store(Protocol):
    """Keep what was answered, and a few settings."""

    def keep(self, trial: StoredTrial) -> None:
        """Keep a trial; it is on the disk when this returns."""
        ...

    def list_trials(self) -> tuple[StoredTrial, ...]:
        """List all trials in the order of their answers."""
        ...

    def find_trial(self, trial: str) -> StoredTrial | None:
        """Find a trial by its identifier, or by the beginning of it."""
        ...

    def read_setting(self, name: str, default: str) -> str:
        """Read a setting."""
        ...

    def write_setting(self, name: str, value: str) -> None:
        """Write a setting."""
        ...


@dataclass(frozen=True)
class Stage:
    """Say how far a long work is: a part of it, 0–1, and what is being done."""

    fraction: float
    words: str


@dataclass(frozen=True)
class Finished:
    """Hold what came of a long work."""

    result: Any


class Worker(Protocol):
    """Do long work out of the way: reading and comparing files, rendering a song."""

    def submit(self, job: Any) -> None:
        """Begin a job; an earlier one that is not finished is given up."""
        ...

    def collect(self) -> Stage | Finished | None:
        """Give the last news of the job: how far it is, or, once, what came of it; None where there is none.

        Raises
        ------
        EvenhandError
            If it could not be done; one line says why.
        """
        ...

    def cancel(self) -> None:
        """Give the job up."""
        ...

    def close(self) -> None:
        """Let go; safe to call twice."""
        ...


class Files(Protocol):
    """Know the person's files by their names."""

    def complete(self, typed: str, kind: FileKind = "sound") -> tuple[str, ...]:
        """List folders, and files of a kind, that begin as typed."""
        ...

    def name(self, path: str) -> str:
        """Give a file's name without its folder."""
        ...

    def make_whole(self, path: str) -> str:
        """Give the whole path."""
        ...

    def read_hash(self, path: str) -> str:
        """Give the hash of a file's bytes.

        Raises
        ------
        EvenhandError
            If it cannot be read.
        """
        ...


class Notebook(Protocol):
    """Keep blind rounds of bounces: which files by their hashes, and every answer the moment it is given."""

    def keep_round(self, held: Round) -> None:
        """Keep a round as it is now; it is on the disk when this returns."""
        ...

    def list_rounds(self, versions: Sequence[str] = ()) -> tuple[Round, ...]:
        """List rounds in their order: of these versions, by their hashes in any order, or all."""
        ...


class Projects(Protocol):
    """Keep a decision sheet for each song, by the project's name."""

    def list_names(self) -> tuple[str, ...]:
        """List the projects there are, the one that was changed last first."""
        ...

    def read(self, name: str) -> Sheet:
        """Read a project's sheet.

        Raises
        ------
        EvenhandError
            If there is none, or it cannot be understood; one line for each fault.
        """
        ...

    def write(self, sheet: Sheet) -> str:
        """Write a sheet and its page, whole or not at all; gives the page's path."""
        ...

    def find_sheet(self, name: str) -> str:
        """Give the path of a project's sheet."""
        ...

    def list_targets(self) -> dict[str, Target]:
        """List the delivery targets there are."""
        ...

    def list_unsettled(self) -> tuple[tuple[str, str], ...]:
        """List moves that an unfinished sheet has not settled, each with its project; a broken sheet has none."""
        ...


class Equipment(Protocol):
    """Show what this computer offers, and carry the history to others and back."""

    @property
    def data_folder(self) -> str:
        """The path of the folder in which everything is kept."""
        ...

    def describe_outputs(self) -> tuple[str, ...]:
        """Describe every kind of sound output, a line each."""
        ...

    def export_history(self, file: str) -> str:
        """Write all answers to a file that does not exist yet; gives a sentence.

        Raises
        ------
        EvenhandError
            If it exists, or cannot be written.
        """
        ...

    def merge_history(self, file: str) -> str:
        """Take in the answers of a file, each once; gives a sentence.

        Raises
        ------
        EvenhandError
            If it cannot be read; then nothing is taken in.
        """
        ...


class Workshop(Protocol):
    """Make trials, out of the way of the sound that is playing."""

    def open(self) -> None:
        """Get ready, which may take a while; otherwise the first wish does. Safe to call twice."""
        ...

    def submit(self, spec: TrialSpec) -> None:
        """Ask for a trial; an earlier one that was not collected is dropped."""
        ...

    def collect(self) -> PreparedTrial | None:
        """Give the trial when it is ready, else None.

        Raises
        ------
        EvenhandError
            If it could not be made; one line says why.
        """
        ...

    def close(self) -> None:
        """Let go; safe to call twice."""
        ...
