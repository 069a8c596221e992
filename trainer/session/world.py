"""The ports a session works with, in one hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from trainer.errors import BadValue
from trainer.exercise.drill import Drill
from trainer.exercise.history import SILENT_SETUP, Standing
from trainer.exercise.reach import find_check, plays
from trainer.exercise.standings import Standings
from trainer.ports import Clock, Equipment, Files, Notebook, Player, Projects, Store, Worker, Workshop
from trainer.session.setup_names import read_used


@dataclass(frozen=True)
class World:
    """Hold the drills, the ports, and the conditions of this session.

    Parameters
    ----------
    drills : dict of str to Drill
        All there are, by name.
    player, store, clock, workshop, worker, files, notebook, projects, equipment
        See `trainer.ports`.
    setup : str
        Name of the listening set-up, where it was named for this session only; else empty.
    audio_class : str
        ``demo`` or ``own``.
    song_title : str
        The person's own song, or empty for the bundled ones.
    choose_seed : callable
        Gives a new seed for a run.
    trials : int or None
        Length of every run, without labelled examples; None: as planned.
    kept : Standings
        What the history has taught so far; it stands for nothing else.
    """

    drills: dict[str, Drill]
    player: Player
    store: Store
    clock: Clock
    workshop: Workshop
    worker: Worker
    files: Files
    notebook: Notebook
    projects: Projects
    equipment: Equipment
    setup: str
    audio_class: str
    song_title: str
    choose_seed: Callable[[], int]
    trials: int | None = None
    kept: Standings = field(default_factory=Standings, compare=False)

    @property
    def setup_in_force(self) -> str:
        """The set-up that answers are kept under: without sound it is ``silent``."""
        return SILENT_SETUP if self.player.output.silent else self.setup_named

    @property
    def setup_named(self) -> str:
        """The set-up that was named for this session, else the one that is in use."""
        return self.setup or read_used(self.store)

    def plays(self, drill: str) -> bool | None:
        """Tell whether the set-up plays what a drill needs; None where that has not been asked yet."""
        return plays(self.drills.values(), self.store.list_trials(), self.setup_in_force, self.drills[drill])

    def find_lesson_first(self, name: str) -> str:
        """Name the lesson that has to come before a drill, since it is not known what the set-up plays; or nothing.

        Raises
        ------
        BadValue
            If it is known that the set-up does not play what the drill needs.
        """
        drill, heard = self.drills[name], True if self.trials is not None else self.plays(name)
        check = find_check(self.drills.values(), drill.reach)
        if heard or check is None:
            return ""
        if heard is None:
            return check.drill
        expected = f"one that plays what this drill needs; the drill {check.drill} asks again"
        raise BadValue(drill.drill, "set-up", self.setup_in_force, expected)

    def lost_sound(self, setup: str) -> bool:
        """Tell whether a run that began with sound on a set-up goes on without."""
        return self.player.output.silent and setup != SILENT_SETUP

    def today(self) -> int:
        """Ordinal of the local calendar day."""
        return self.clock.now().toordinal()

    def list_standings(self) -> tuple[Standing, ...]:
        """Work out where the ear stands in every drill's skill, under today's conditions."""
        trials, setup = self.store.list_trials(), self.setup_in_force
        return self.kept.find(self.drills, trials, setup, self.audio_class, self.today())

    def find_standing(self, drill: str) -> Standing:
        """Work out where the ear stands in one drill's skill."""
        return next(standing for standing in self.list_standings() if standing.drill.drill == drill)
