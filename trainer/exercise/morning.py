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

# Days until a skill is due again, by its visits; practice in depth counts as one more.
GAPS = (2, 4, 8, 16, 30)
WHOLE_GAP, LESSON_GAP = 14, 30
WEAK_GAP, WEAK_GAP_WHEN_FREQUENT = 1, 3
FREQUENT_VISITS, FREQUENT_DAYS = 2, 5
NEEDED_GAP = 2
# So many new ones a day meet all within the first month of practice.
MONTH_DAYS, NEW_A_DAY = 28, 1.8
# So far below prediction the share of right answers calls a skill back soon.
SHORTFALL = 0.20
UNCERTAIN_WEIGHT = 1.5


@dataclass(frozen=True)
class Facts:
    """Say of one drill how it stood before today's first answer.

    Parameters
    ----------
    drill : Drill
        Which it is.
    standing : DayStanding
        Where the ear stands in it.
    practice : Practice
        When it was practised.
    visits : int
        How often, days in a row counted once.
    need : str
        What a decision sheet needs it for; empty without one.
    gap : int
        After how many days it is due again; 0 for what was never practised.
    days_since : int or None
        Days since it was practised; None without any.
    """

    drill: Drill
    standing: DayStanding
    practice: Practice
    visits: int
    need: str
    gap: int
    days_since: int | None

    @property
    def seeks(self) -> bool:
        """Tell whether it looks for a threshold."""
        return FORMS[self.drill.form].placement == "threshold"

    @property
    def settled(self) -> bool:
        """Tell whether its threshold was known well when it was last practised."""
        estimate = self.standing.last_evening
        return self.seeks and estimate.trials > 0 and estimate.settled

    @property
    def open_ended(self) -> bool:
        """Tell whether more practice would have narrowed its threshold then: not so beyond what can be asked."""
        estimate = self.standing.last_evening
        return self.seeks and estimate.edge is None and not estimate.settled

    @property
    def moving(self) -> bool:
        """Tell whether its range is too wide this morning to be a finding."""
        return self.seeks and not self.standing.this_morning.settled

    @property
    def weak(self) -> bool:
        """Tell whether it went worse than expected last time."""
        return is_weak(self.drill, self.standing, self.practice)

    @property
    def overdue(self) -> int:
        """Days since it was due, that day included; 0 while it is not."""
        return 0 if self.days_since is None else max(0, self.days_since - self.gap + 1)

    @property
    def due(self) -> bool:
        """Tell whether it is due again."""
        return self.overdue > 0

    @property
    def weight(self) -> float:
        """Weigh what has been in depth before: the width of its interval, and a little for every day that passed."""
        ratio = self.standing.this_morning.half_width_ratio if self.seeks else 1.0
        return 2 * (ratio - 1) + 0.1 * min(30 if self.days_since is None else self.days_since, 30)


@dataclass(frozen=True)
class Morning:
    """Hold what is known before today's first answer.

    Parameters
    ----------
    drills : tuple of Drill
        All there are, the large and plain first.
    facts : mapping of str to Facts
        Of each drill.
    open : tuple of str
        Drills that may be planned: carried by the set-up and the music, and with their groundwork laid.
    depths : tuple of (int, str)
        Days on which something was practised in depth, and what.
    reach, before : Reach
        What the set-up carries, as known now and as known this morning.
    much_unmet : bool
        Whether two looks a day at new ones would not be enough to meet all within the first month of practice.
    today : int
        Ordinal of today.
    seed : int
        Decides between what is equally due.
    """

    drills: tuple[Drill, ...]
    facts: Mapping[str, Facts]
    open: tuple[str, ...]
    depths: tuple[tuple[int, str], ...]
    reach: Reach
    before: Reach
    much_unmet: bool
    today: int
    seed: int

    def rank_due(self, name: str) -> tuple[float, ...]:
        """Rank what is due: what is needed, what went badly, then by days overdue, and by lot where all is equal."""
        facts = self.facts[name]
        order = 0 if facts.need else 1 if facts.weak else 2
        weight = UNCERTAIN_WEIGHT if facts.moving else 1.0
        lot = zlib.crc32(f"{self.seed} {self.today} {name}".encode())
        return (order, -weight * facts.overdue, lot)


def is_weak(drill: Drill, standing: DayStanding, practice: Practice) -> bool:
    """Tell whether a drill went worse than expected: three misses in a row, or the last ten well below prediction.

    A test of fixed length expects nothing: what it did not show is no weakness.
    """
    if drill.form in WHOLE:
        return False
    return practice.lost or (falls_short(drill, standing) and bool(practice.days))


def falls_short(drill: Drill, standing: DayStanding) -> bool:
    """Tell whether the last ten answers lay well below prediction, where a threshold is looked for."""
    return FORMS[drill.form].placement == "threshold" and standing.shortfall >= SHORTFALL - 1e-9


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
    stood = {each.drill.drill: each for each in stand_today(standings, trials, today)}
    setup, audio_class = standings[0].setup, standings[0].audio_class
    ordered = sort_by_plainness(each.drill for each in standings)
    practices = gather_practice(trials, setup, audio_class, today)
    depths = list_depths(practices, {drill.drill: drill for drill in ordered})
    all_days = sorted({day for practice in practices.values() for day, _ in practice.days})
    facts = {}
    for drill in ordered:
        practice, standing = practices.get(drill.drill, NEVER), stood[drill.drill]
        need, was_deep = needs.get(drill.skill, ""), any(name == drill.drill for _, name in depths)
        gap = _find_gap(drill, standing, practice, need, was_deep, all_days, today)
        since = None if practice.last_day is None else today - practice.last_day
        facts[drill.drill] = Facts(drill, standing, practice, count_visits(practice), need, gap, since)
    reach = find_reach(ordered, trials, setup, audio_class)
    before = find_reach(ordered, [trial for trial in trials if trial.day != today], setup, audio_class)
    carried = [drill for drill in ordered if reach.carries(drill) is not False and not is_check(drill, ordered)]
    unmet = sum(not facts[drill.drill].visits for drill in carried)
    much_unmet = unmet > NEW_A_DAY * max(0, MONTH_DAYS - len(all_days)) > 0
    return Morning(ordered, facts, _list_open(carried, facts), depths, reach, before, much_unmet, today, seed)


def _list_open(carried: Sequence[Drill], facts: Mapping[str, Facts]) -> tuple[str, ...]:
    """List the drills that may be planned; what was practised before needs no groundwork."""
    return tuple(
        drill.drill
        for drill in carried
        if facts[drill.drill].visits or all(facts[each].visits for each in find_groundwork(drill, carried))
    )


def _find_gap(
    drill: Drill,
    standing: DayStanding,
    practice: Practice,
    need: str,
    was_deep: bool,
    all_days: Sequence[int],
    today: int,
) -> int:
    """Find after how many days a drill is due again; gaps grow with visits and never shrink by lateness."""
    if not practice.days:
        return 0
    if is_weak(drill, standing, practice):
        recent = sum(today - day <= FREQUENT_DAYS for day, _ in practice.days)
        return WEAK_GAP if recent <= FREQUENT_VISITS else WEAK_GAP_WHEN_FREQUENT
    if need:
        return NEEDED_GAP
    least = LESSON_GAP if drill.form == "lesson" else WHOLE_GAP if drill.form in WHOLE else 0
    step = min(count_visits(practice) - 1 + was_deep, len(GAPS) - 1)
    return max(least, min(GAPS[-1], max(GAPS[step], find_last_gap(practice, all_days))))
