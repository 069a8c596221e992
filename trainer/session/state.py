"""What the program is doing, apart from how it looks."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from trainer.decisions.rounds import Round
from trainer.exercise.trial import PreparedTrial, TrialSpec
from trainer.ports import UNCHANGED, Monitoring
from trainer.session.blind_state import Blind
from trainer.session.drills_state import DrillsState
from trainer.session.first_start_state import FirstStart
from trainer.session.mixes.state import MixState
from trainer.session.progress_place_state import ProgressState
from trainer.session.run import Run
from trainer.session.setup_state import SetupState
from trainer.session.weigh.state import WeighState

DIFFERENCE = 0


@dataclass(frozen=True)
class State:
    """Hold the program's state; changed by replacement.

    Parameters
    ----------
    screen : str
        What is shown: ``cautions``, ``run``, ``leaving``, ``problem``, or one of the places.
    home : str
        The place that a run goes back to.
    theme : str
        ``paper`` or ``night``.
    text_percent : int
        Size of text, 80–250.
    named : str
        Drill that was named at the start and still waits for the cautions; empty otherwise.
    following : str
        Drill that begins when a set-up plays what it needs; empty otherwise.
    failed : tuple of str
        Drills that could not be put in this session, on this music.
    chosen : str
        Drill that is chosen on the first screen; empty for the plan's first.
    run : Run or None
        The run that is on.
    wanted : TrialSpec or None
        What the workshop has been asked for.
    made : PreparedTrial or None
        A trial that is ready before its turn.
    version : int
        Version that is heard, from 1; 0 is the difference.
    monitoring : Monitoring
        How it is heard where no question is open; as it is in every question.
    control : int
        Where a question's control stands, from 0.
    order : tuple of int
        Versions put in order so far.
    marks : tuple of (float, str)
        Moments marked in a pass so far, s, and what was heard.
    heard_frame : int
        How far a pass has been heard.
    asked_s : float
        When the question was put, on the monotonic clock.
    heard_gaps : int
        Gaps in the sound since the question was put.
    keys_open, receipt_open : bool
        What is laid over the screen.
    typed : str
        The line that is typed on a page.
    blind : Blind or None
        The blind round that is on.
    judged : Round or None
        The last blind round that was complete.
    drills : DrillsState
        Where the list of all drills stands.
    mix : MixState
        Where a mix stands on its way.
    weigh : WeighState
        Where a weighing stands.
    progress : ProgressState
        What of the history is looked at.
    setting : SetupState
        What is set.
    first : FirstStart
        Where a first start stands.
    message : str
        One line about the last thing that went wrong; empty if nothing did.
    finished : bool
        The program is to end.
    """

    screen: str = "today"
    home: str = "today"
    theme: Literal["paper", "night"] = "paper"
    text_percent: int = 100
    named: str = ""
    following: str = ""
    failed: tuple[str, ...] = ()
    chosen: str = ""
    run: Run | None = None
    wanted: TrialSpec | None = None
    made: PreparedTrial | None = None
    version: int = 1
    monitoring: Monitoring = UNCHANGED
    control: int = 0
    order: tuple[int, ...] = ()
    marks: tuple[tuple[float, str], ...] = ()
    heard_frame: int = 0
    asked_s: float = 0.0
    heard_gaps: int = 0
    keys_open: bool = False
    receipt_open: bool = False
    typed: str = ""
    blind: Blind | None = None
    judged: Round | None = None
    mix: MixState = field(default_factory=MixState)
    drills: DrillsState = field(default_factory=DrillsState)
    weigh: WeighState = field(default_factory=WeighState)
    progress: ProgressState = field(default_factory=ProgressState)
    setting: SetupState = field(default_factory=SetupState)
    first: FirstStart = field(default_factory=FirstStart)
    message: str = ""
    finished: bool = False
