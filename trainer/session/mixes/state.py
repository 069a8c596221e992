"""Where a mix stands on its way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from trainer.decisions.mix_jobs import (
        Delivered,
        MixOpened,
        PlacesTaken,
        Proposed,
        SettingsHeard,
        SongHeard,
        SongsCompared,
        VersionsHeard,
    )
    from trainer.decisions.sheet import Sheet, StepName
    from trainer.ports import Stage
    from trainer.session.mixes.fading import Fading

Page = Literal[
    "projects", "working", "changed", "step", "pass", "finding", "candidate", "verdict", "systems", "release"
]  # fmt: skip


@dataclass(frozen=True)
class MixState:
    """Hold a mix on its way; changed by replacement.

    Parameters
    ----------
    page : str
        What is shown.
    step : str
        Which of the six steps.
    path : str
        Of the mix.
    sheet : Sheet or None
        What has been decided; written at every change.
    sheet_page : str
        Where its readable page lies.
    opened, compared, bottom, sweet : optional
        What was read, compared and proposed; asked for again when it is needed.
    heard : VersionsHeard or None
        What can be compared now.
    song : SongHeard or None
        What is heard on a pass.
    checked : Delivered or None
        The files that were made or checked last.
    taken : PlacesTaken or None
        Files that would be written over; asked about first.
    versions : tuple of str
        Paths of other versions that are made with the master.
    made : tuple of str
        Hashes of files that were made here.
    stage : Stage or None
        How far the work is.
    chosen : str
        The candidate, finding or comparison that is looked at.
    field : int
        Which line of the aim, or of the delivery, is being filled in.
    listened : bool
        Whether the files that were made last were listened to from start to end.
    marks : tuple of (float, str)
        Moments marked on this pass.
    heard_frame : int
        How far the pass has been heard.
    named_references : tuple of str
        Paths of songs that were named at the start, to be set beside the mix once it is open.
    version : int
        What is heard where names are shown, from 1.
    tried : SettingsHeard or None
        A bus compressor at many settings.
    setting : int
        Which of them is looked at, its place in their grid.
    part : str
        Of it: everything, or a band alone; see `balance_parts.PARTS`.
    fading : Fading or None
        A fade that is tried at one end.
    """

    page: Page = "projects"
    step: StepName = "aim"
    path: str = ""
    sheet: Sheet | None = None
    sheet_page: str = ""
    opened: MixOpened | None = None
    compared: SongsCompared | None = None
    bottom: Proposed | None = None
    sweet: Proposed | None = None
    heard: VersionsHeard | None = None
    song: SongHeard | None = None
    checked: Delivered | None = None
    taken: PlacesTaken | None = None
    versions: tuple[str, ...] = ()
    made: tuple[str, ...] = ()
    stage: Stage | None = None
    chosen: str = ""
    field: int = 0
    marks: tuple[tuple[float, str], ...] = ()
    listened: bool = False
    heard_frame: int = 0
    version: int = 1
    tried: SettingsHeard | None = None
    setting: int = 0
    part: str = "everything"
    fading: Fading | None = None
    named_references: tuple[str, ...] = ()
