"""What a plan is made from: standings, practice and set-up as they were this morning, and what follows from them."""

from __future__ import annotations

import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from trainer.exercise.curriculum import Reach, find_groundwork, find_reach, is_check, sort_by_plainness
from trainer.exercise.drill import Drill
from trainer.exercise.forms import FORMS
from trainer.exercise.history import Standing, StoredTrial
from trainer.exercise.pace import WHOLE
from trainer.exercise.practice import NEVER, Practice, count_visits, find_last_gap, gather_practice, list_depths
from trainer.exercise.standings import DayStanding, stand_today
from trainer.listening.threshold import Estimate

# Days until a skill is due again, by its visits; practice in depth counts as one more.
GAPS = (2, 4, 8, 16, 30)
WHOLE_GAP, LESSON_GAP = 14, 30
WEAK_GAP, WEAK_GAP_WHEN_FREQUENT, FREQUENT_DAYS = 1, 3, 5
NEEDED_GAP = 2
# So far below prediction the share of right answers calls a skill back soon.
SHORTFALL = 0.20
UNCERTAIN_WEIGHT = 1.5


@dataclass(frozen=True)
class Morning:
    """Hold what is known before today's first answer.

    Parameters
    ----------
    drills : mapping of str to Drill
        All there are, the large and plain first.
    standings : mapping of str to DayStanding
        By drill.
    practices : mapping of str to Practice
        By drill, for those with any.
    depths : tuple of (int, str)
        Days on which something was practised in depth, and what.
    reach, before : Reach
        What the set-up carries, as known now and as known this morning.
    open : tuple of str
        Drills that may be planned, the large and plain first.
    today : int
        Ordinal of today.
    needs : mapping of str to str
        What decision sheets need, by skill.
    seed : int
        Decides between what is equally due.
    """

    drills: Mapping[str, Drill]
    standings: Mapping[str, DayStanding]
    practices: Mapping[str, Practice]
    depths: tuple[tuple[int, str], ...]
    reach: Reach
    before: Reach
    open: tuple[str, ...]
    today: int
    needs: Mapping[str, str]
    seed: int

    def practice(self, name: str) -> Practice:
        """Give what was practised of a drill."""
        return self.practices.get(name, NEVER)

    def visits(self, name: str) -> int:
        """Count its visits before today."""
        return count_visits(self.practice(name))

    def days_since(self, name: str) -> int | None:
        """Count the days since it was practised before today; None without any."""
        last = self.practice(name).last_day
        return None if last is None else self.today - last

    def find_need(self, name: str) -> str:
        """Find what a decision sheet needs it for; empty without one."""
        return self.needs.get(self.drills[name].skill, "")

    def estimate(self, name: str) -> Estimate | None:
        """Give this morning's threshold, where the drill looks for one."""
        seeks = FORMS[self.drills[name].form].placement == "threshold"
        return self.standings[name].morning.estimate() if seeks else None

    def is_settled(self, name: str) -> bool:
        """Tell whether its threshold is known well."""
        estimate = self.estimate(name)
        return estimate is not None and estimate.trials > 0 and estimate.settled

    def is_moving(self, name: str) -> bool:
        """Tell whether more practice would narrow its threshold: not so beyond what can be asked."""
        estimate = self.estimate(name)
        return estimate is not None and estimate.edge is None and not estimate.settled

    def is_weak(self, name: str) -> bool:
        """Tell whether it went worse than expected last time."""
        return self.visits(name) > 0 and (self.practice(name).lost or self.falls_short(name))

    def falls_short(self, name: str) -> bool:
        """Tell whether its last ten answers lay well below prediction."""
        return self.estimate(name) is not None and self.standings[name].shortfall >= SHORTFALL - 1e-9

    def is_ready(self, name: str) -> bool:
        """Tell whether what comes before it is known; what was practised already is."""
        if self.visits(name):
            return True
        known = [self.drills[each] for each in self.open]
        return all(self.visits(each) for each in find_groundwork(self.drills[name], known))

    def find_gap(self, name: str) -> int:
        """Find after how many days it is due again."""
        practice, visits = self.practice(name), self.visits(name)
        if self.is_weak(name):
            recent = sum(self.today - day <= FREQUENT_DAYS for day, _ in practice.days)
            return WEAK_GAP if recent <= 2 else WEAK_GAP_WHEN_FREQUENT
        if self.find_need(name):
            return NEEDED_GAP
        form, all_days = self.drills[name].form, sorted({d for p in self.practices.values() for d, _ in p.days})
        least = LESSON_GAP if form == "lesson" else WHOLE_GAP if form in WHOLE else 0
        step = visits - 1 + any(each == name for _, each in self.depths)
        return max(least, min(GAPS[-1], max(GAPS[min(step, len(GAPS) - 1)], find_last_gap(practice, all_days))))

    def find_lateness(self, name: str) -> float:
        """Find how late it is: 1 when just due; what is not settled yet counts for more."""
        since = self.days_since(name)
        return 0.0 if since is None else since / self.find_gap(name)

    def is_due(self, name: str) -> bool:
        """Tell whether it is due again."""
        return self.find_lateness(name) >= 1.0

    def is_urgent(self, name: str) -> bool:
        """Tell whether it goes before all others: needed, or worse than expected."""
        return bool(self.find_need(name)) or self.is_weak(name)

    def rank_due(self, name: str) -> tuple[float, ...]:
        """Rank what is due: what is needed, what went badly, then by lateness, and by lot where all is equal."""
        weight = UNCERTAIN_WEIGHT if self.is_moving(name) else 1.0
        order = 0 if self.find_need(name) else 1 if self.is_weak(name) else 2
        lot = zlib.crc32(f"{self.seed} {self.today} {name}".encode())
        return (order, -weight * self.find_lateness(name), lot)

    def weigh(self, name: str) -> float:
        """Weigh what has been in depth before: the width of its interval, and a little for every day that passed."""
        estimate, since = self.estimate(name), self.days_since(name)
        width = 0.0 if estimate is None else 2 * (estimate.half_width_ratio - 1)
        return width + 0.1 * min(30 if since is None else since, 30)


def find_morning(
    standings: Sequence[Standing], trials: Sequence[StoredTrial], today: int, needs: Mapping[str, str], seed: int
) -> Morning:
    """Find how things stood before today's first answer.

    Parameters
    ----------
    standings : sequence of Standing
        One to a drill; one or more.
    trials : sequence of StoredTrial
        The whole history.
    today : int
        Ordinal of today.
    needs : mapping of str to str
        What decision sheets need, by skill.
    seed : int
        Decides between what is equally due.
    """
    days = {each.drill.drill: each for each in stand_today(standings, trials, today)}
    setup, audio_class = standings[0].setup, standings[0].audio_class
    ordered = sort_by_plainness(each.drill for each in standings)
    drills = {drill.drill: drill for drill in ordered}
    practices = gather_practice(trials, setup, audio_class, today)
    past = [trial for trial in trials if trial.day != today]
    reach = find_reach(ordered, trials, setup, audio_class)
    return Morning(
        drills=drills,
        standings=days,
        practices=practices,
        depths=list_depths(practices, drills),
        reach=reach,
        before=find_reach(ordered, past, setup, audio_class),
        open=tuple(d.drill for d in ordered if reach.carries(d) is not False and not is_check(d, ordered)),
        today=today,
        needs=needs,
        seed=seed,
    )
