"""The same weeks without the session in between: plans and stored trials alone, for tests that look at plans."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta, timezone

import numpy as np

from tests.week.person import FOUND, Person
from trainer.exercise.drill import Drill
from trainer.exercise.forms import FORMS
from trainer.exercise.history import StoredTrial
from trainer.exercise.pace import SHOWN_SECONDS, find_seconds
from trainer.exercise.plan import DayPlan, PlanLine, plan_today
from trainer.exercise.standings import DayStanding, Standings
from trainer.listening.listener import Listener

FIRST_DAY = 741_600


def make_stored(drill: Drill, day: int, number: int = 0, **changes: object) -> StoredTrial:
    """Make a stored trial of a drill, the number-th of its day, as it is kept."""
    seconds = find_seconds(drill.form)
    at = datetime.fromordinal(day).replace(hour=19, tzinfo=timezone.utc) + timedelta(seconds=seconds * (number + 1))
    trial = StoredTrial(
        trial=f"{day}-{number}-{drill.drill}",
        answered_at=at.isoformat(timespec="microseconds"),
        day=day,
        drill=drill.drill,
        form=drill.form,
        move=drill.move,
        skill=drill.skill,
        unit=drill.amount.unit,
        seed=day,
        index=number,
        amount=drill.amount.typical,
        measured_amount=drill.amount.typical,
        audio_title="Harbour",
        audio_path="/songs/harbour.flac",
        audio_sha256="0" * 64,
        audio_class="demo",
        start_s=0.0,
        end_s=8.0,
        setup="headphones",
        answer="1",
        right_answer="1",
        correct=True,
        task=FORMS[drill.form].task(drill) or "",
        score=1.0,
        error=None,
        scored=True,
        response_s=seconds - SHOWN_SECONDS,
        loudness_lufs=-20.0,
        spread_lu=0.0,
        asked={},
        measured={},
        program="0",
    )
    return replace(trial, **changes)  # type: ignore[arg-type]


@dataclass
class Diary:
    """Keep what was planned and answered, day by day."""

    person: Person
    drills: Mapping[str, Drill]
    needs: Mapping[str, str] = field(default_factory=dict)
    seed: int = 0
    trials: list[StoredTrial] = field(default_factory=list)
    plans: dict[int, DayPlan] = field(default_factory=dict)
    kept: Standings = field(default_factory=Standings)

    @property
    def audio_class(self) -> str:
        """The class of music."""
        return "own" if self.person.own_mix else "demo"

    def stand(self, day: int) -> tuple[DayStanding, ...]:
        """Give where the ear stands."""
        return self.kept.find(self.drills, self.trials, self.person.setup, self.audio_class, FIRST_DAY + day)

    def plan(self, day: int) -> DayPlan:
        """Plan a day as things are now."""
        return plan_today(self.stand(day), self.trials, FIRST_DAY + day, needs=self.needs, seed=self.seed)

    def live(self, days: Iterable[int]) -> Diary:
        """Do all of the plan on each of some days."""
        for day in days:
            self.plans[day] = plan = self.plan(day)
            rng, lines = np.random.default_rng(day), list(plan.lines)
            while lines:
                self.trials += self.answer(lines[0], day, rng)
                lines = list(self.plan(day).left)
        return self

    def answer(self, line: PlanLine, day: int, rng: np.random.Generator) -> list[StoredTrial]:
        """Answer all trials of a line; a whole run asks one amount, as the threshold suggests it."""
        drill, begun = line.standing.drill, sum(trial.day == FIRST_DAY + day for trial in self.trials)
        task = FORMS[drill.form].task(drill)
        amount = line.standing.track.next_amount(task) if task and line.days_since else drill.amount.start
        stored = []
        for number in range(begun, begun + line.trials):
            correct, said = self._judge(drill, amount, day, rng)
            seconds = begun * 12.0 + (number - begun) * find_seconds(drill.form)
            at = datetime.fromordinal(FIRST_DAY + day).replace(hour=19, tzinfo=timezone.utc)
            stored.append(
                make_stored(
                    drill,
                    FIRST_DAY + day,
                    number,
                    amount=amount,
                    correct=correct,
                    answer=said,
                    setup=self.person.setup,
                    audio_class=self.audio_class,
                    seed=1000 * day + begun,
                    answered_at=(at + timedelta(seconds=seconds)).isoformat(timespec="microseconds"),
                )
            )
        return stored

    def _judge(self, drill: Drill, amount: float, day: int, rng: np.random.Generator) -> tuple[bool | None, str]:
        """Say whether an answer is right, and what was said."""
        if drill.form == "lesson":
            return None, "yes" if self.person.hears.get(drill.reach, True) else "no"
        if drill.form in ("prefer", "louder_or_better"):
            return None, "1"
        task = FORMS[drill.form].task(drill)
        if task is None:
            return bool(rng.random() < FOUND), "1"
        return Listener(self.person.find_threshold(drill, day)).answer(amount, task, rng), "1"
