"""Where the ear stands in every skill, kept from one look to the next, so that a history is replayed only once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from trainer.exercise.drill import Drill
from trainer.exercise.history import Standing, StoredTrial
from trainer.listening.links import LINKS
from trainer.listening.threshold import Estimate, Scale, Track

RECENT = 10


@dataclass(frozen=True)
class DayStanding(Standing):
    """Say where the ear stands, and where it stood this morning.

    Parameters
    ----------
    morning : Track
        As of today, before today's first answer.
    evening : Track
        At the end of the last day of practice before today, before days without an answer widened it.
    shortfall : float
        By how much, this morning, the share of right answers among the last ten lay below what was predicted
        before each of them; 0 while there are fewer.
    """

    morning: Track
    evening: Track
    shortfall: float

    @cached_property
    def this_morning(self) -> Estimate:
        """This morning's threshold."""
        return self.morning.estimate()

    @cached_property
    def last_evening(self) -> Estimate:
        """The threshold as it was last known before today."""
        return self.evening.estimate()


@dataclass(frozen=True, eq=False)
class _Log:
    """What the answers of one skill have taught so far; ``recent`` holds prediction and outcome."""

    track: Track
    morning: Track
    evening: Track
    day: int | None = None
    recent: tuple[tuple[float, bool], ...] = ()
    before: tuple[tuple[float, bool], ...] = ()

    def after(self, trial: StoredTrial) -> _Log:
        """Take in one answer; a clock that was set back does not move a day backwards."""
        log = self if self.day is None else self._open_day(trial.day)
        correct = bool(trial.correct)
        predicted = log.track.predict_correct(trial.amount, trial.task)
        recent = (*log.recent, (predicted, correct))[-RECENT:]
        track = log.track.after(trial.amount, correct, trial.task)
        return replace(log, track=track, recent=recent, day=trial.day if log.day is None else log.day)

    def _open_day(self, day: int) -> _Log:
        """Let the days pass up to a new one."""
        assert self.day is not None
        if day <= self.day:
            return self
        track = self.track.after_days(day - self.day)
        return replace(self, track=track, morning=track, evening=self.track, before=self.recent, day=day)


class Standings:
    """Keep what a history has taught, and go on from there when it has grown.

    It stands for nothing but the history: asked with any other, with another set-up or class of music, it begins anew,
    and gives exactly what `find_standing` gives.
    """

    def __init__(self) -> None:
        self._conditions = ("", "")
        self._trials: tuple[StoredTrial, ...] = ()
        self._logs: dict[tuple[str, Scale], _Log] = {}
        self._stood: dict[str, tuple[int, Drill, _Log, DayStanding]] = {}

    def find(
        self, drills: Mapping[str, Drill], trials: Sequence[StoredTrial], setup: str, audio_class: str, today: int
    ) -> tuple[DayStanding, ...]:
        """Find where the ear stands in every drill's skill.

        Parameters
        ----------
        drills : mapping of str to Drill
            All there are.
        trials : sequence of StoredTrial
            The history, in the order of its answers.
        setup, audio_class : str
            The conditions.
        today : int
            Ordinal of today.

        Returns
        -------
        tuple of DayStanding
            One to a drill, in their order.
        """
        keys = {name: (drill.skill, drill.scale) for name, drill in drills.items()}
        self._take_in(set(keys.values()), tuple(trials), (setup, audio_class))
        return tuple(self._stand(drill, keys[name], today) for name, drill in drills.items())

    def _take_in(
        self, keys: set[tuple[str, Scale]], trials: tuple[StoredTrial, ...], conditions: tuple[str, str]
    ) -> None:
        """Take in what is new; all of it where the conditions, the skills or the past are others."""
        known = len(self._trials)
        grown = conditions == self._conditions and set(self._logs) == keys and trials[:known] == self._trials
        if not grown:
            self._logs, self._stood, known = {key: _begin(key[1]) for key in keys}, {}, 0
        scales: dict[str, list[tuple[str, Scale]]] = {}
        for key in keys:
            scales.setdefault(key[0], []).append(key)
        for trial in _choose(trials[known:], *conditions):
            for key in scales.get(trial.skill, ()):
                self._logs[key] = self._logs[key].after(trial)
        self._conditions, self._trials = conditions, trials

    def _stand(self, drill: Drill, key: tuple[str, Scale], today: int) -> DayStanding:
        """Say where the ear stands in one skill, today."""
        log, kept = self._logs[key], self._stood.get(drill.drill)
        if kept is not None and kept[0] == today and kept[1] is drill and kept[2] is log:
            return kept[3]
        now, (setup, audio_class) = _reach_day(log, today), self._conditions
        shortfall = _find_shortfall(now.before)
        standing = DayStanding(drill, setup, audio_class, now.track, log.day, now.morning, now.evening, shortfall)
        self._stood[drill.drill] = (today, drill, log, standing)
        return standing


def _begin(scale: Scale) -> _Log:
    """Begin without answers."""
    track = Track.begin(scale)
    return _Log(track, track, track)


def _reach_day(log: _Log, today: int) -> _Log:
    """Let the days pass up to today."""
    if log.day is None or today <= log.day:
        return log
    track = log.track.after_days(today - log.day)
    return replace(log, track=track, morning=track, evening=log.track, before=log.recent)


def _choose(trials: Iterable[StoredTrial], setup: str, audio_class: str) -> Iterable[StoredTrial]:
    """Choose the answers that belong to a threshold under these conditions."""
    return (
        trial
        for trial in trials
        if trial.setup == setup and trial.audio_class == audio_class and trial.scored
        if trial.task in LINKS and trial.correct is not None
    )


def _find_shortfall(recent: Sequence[tuple[float, bool]]) -> float:
    """Compare predictions with outcomes, once there are enough of them."""
    if len(recent) < RECENT:
        return 0.0
    return sum(predicted - correct for predicted, correct in recent) / len(recent)


def stand_today(standings: Sequence[Standing], trials: Sequence[StoredTrial], today: int) -> tuple[DayStanding, ...]:
    """Give standings with their mornings; what lacks them is worked out from the history anew.

    Parameters
    ----------
    standings : sequence of Standing
        One to a drill, all of one set-up and one class of music.
    trials : sequence of StoredTrial
        The history, in the order of its answers.
    today : int
        Ordinal of today.
    """
    whole = tuple(standing for standing in standings if isinstance(standing, DayStanding))
    if len(whole) == len(standings):
        return whole
    drills = {standing.drill.drill: standing.drill for standing in standings}
    first = standings[0]
    return Standings().find(drills, trials, first.setup, first.audio_class, today)
