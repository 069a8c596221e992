"""What to do today: one skill in depth, short looks at others, each with its reason."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from trainer.exercise.curriculum import LeftOut
from trainer.exercise.drill import Drill
from trainer.exercise.families import SET_UP
from trainer.exercise.history import Standing, StoredTrial
from trainer.exercise.morning import Facts, Morning, find_morning
from trainer.exercise.pace import (
    WHOLE,
    count_depth_trials,
    count_look_trials,
    estimate_seconds,
    suits_depth,
)
from trainer.exercise.reach import find_check

SHORTEST_MINUTES, LONGEST_MINUTES = 6.0, 10.0
USUAL_LOOKS, MOST_LOOKS = 3, 4
NEW_FIRST = 3
LONG_SHARE = 2.0
FEWEST_DAYS, MOST_DAYS = 3, 5
# A skill that was practised in depth rests for so many days before it comes in depth again.
REST_DAYS = 14
DONE_SHARE = 2 / 3

Part = Literal["depth", "look", "check"]
Reason = Literal["sheet", "new", "new_here", "lost", "short", "stays", "uncertain", "back", "check"]


@dataclass(frozen=True)
class PlanLine:
    """One drill of the plan.

    Parameters
    ----------
    standing : Standing
        The drill, and where the ear stands in it now.
    trials : int
        Still to be answered today; where it is done, how many it was to be.
    reason : str
        Why it is there, as things stood this morning.
    part : str
        In ``depth``, a short ``look``, or the one question that ``check``s the set-up.
    days_since : int or None
        Days since it was practised before today, under these conditions; None without any.
    day_number : int
        Which day in a row it is in depth; 0 for other parts.
    words : str
        What a decision sheet needs it for.
    done : bool
        Whether it was practised today.
    """

    standing: Standing
    trials: int
    reason: Reason
    part: Part
    days_since: int | None
    day_number: int = 0
    words: str = ""
    done: bool = False

    @property
    def seconds(self) -> float:
        """How long it takes, s."""
        return estimate_seconds(self.standing.drill, self.trials)


@dataclass(frozen=True)
class DayPlan:
    """Today's plan: what is still to be done first, and what is left out, with its cause."""

    lines: tuple[PlanLine, ...]
    left_out: tuple[LeftOut, ...] = ()

    @property
    def left(self) -> tuple[PlanLine, ...]:
        """What is still to be done."""
        return tuple(line for line in self.lines if not line.done)

    def find_trials(self, drill: str) -> int | None:
        """Find how many trials of a drill are still planned; None for a drill that is not."""
        return next((line.trials for line in self.lines if line.standing.drill.drill == drill), None)


def plan_today(
    standings: Sequence[Standing],
    trials: Sequence[StoredTrial],
    today: int,
    *,
    needs: Mapping[str, str] | None = None,
    seed: int = 0,
) -> DayPlan:
    """Choose today's drills.

    One skill in depth stays for three to five days: until its threshold is settled. Then the next one follows, first
    what a decision sheet needs, then what was missed again and again, then what is least known, the large and plain
    first. Short looks go to what is due again, after gaps that grow from visit to visit, and to what is new.

    Parameters
    ----------
    standings : sequence of Standing
        One to a drill, on the set-up and the class of music in use; those of `Standings` spare a replay.
    trials : sequence of StoredTrial
        The whole history, in the order of its answers.
    today : int
        Ordinal of today.
    needs : mapping of str to str, optional
        What decision sheets need next: words of a reason by skill.
    seed : int
        Decides between what is equally due.

    Returns
    -------
    DayPlan
        6 to 10 minutes where there are drills enough. It follows from the history before today, the date and the
        seed; what is practised today only marks lines as done, and an answer about the set-up may leave drills out.
    """
    if not standings:
        return DayPlan(())
    morning = find_morning(standings, trials, today, needs or {}, seed)
    chosen = _choose_lines(morning)
    lines = [_mark_done(line, morning) for line in chosen]
    return DayPlan(tuple(sorted(lines, key=lambda line: line.done)), morning.reach.list_left_out())


def _choose_lines(morning: Morning) -> list[PlanLine]:
    """Choose what is in depth, then looks as long as there is room, and put the questions about the set-up first."""
    lines = _make_room(choose_depth(morning), morning)
    room_s = _find_room(lines, morning)
    for _ in range(MOST_LOOKS):
        queue = _queue_looks(lines, room_s, morning)
        look = next((look for look in queue if _fits(look, lines, morning)), None)
        if look is None:
            break
        lines = (*lines, look)
    return [*_list_checks(lines, morning), *lines]


def _make_room(lines: tuple[PlanLine, ...], morning: Morning) -> tuple[PlanLine, ...]:
    """Shorten what is in depth where the next new one takes long."""
    name = next((name for name in morning.open if not morning.facts[name].visits), "")
    room_s = _find_room(lines, morning)
    if not name or _make_look(name, room_s, morning).seconds <= LONG_SHARE * room_s:
        return lines
    return tuple(replace(line, trials=count_depth_trials(line.standing.drill, True)) for line in lines)


def _find_room(lines: Sequence[PlanLine], morning: Morning) -> float:
    """Find the room for each look, s: more and shorter ones while much was never met."""
    looks = MOST_LOOKS if morning.much_unmet else USUAL_LOOKS
    return (60 * LONGEST_MINUTES - _count_seconds(lines, morning)) / looks


def choose_depth(morning: Morning) -> tuple[PlanLine, ...]:
    """Choose the skill in depth: the same one for some days, then another; none where no drill is fit for it."""
    names = [name for _, name in morning.depths]
    current, days = (names[-1], _count_in_a_row(names)) if names else ("", 0)
    if current in morning.open and days < MOST_DAYS and (days < FEWEST_DAYS or morning.facts[current].open_ended):
        return (_make_depth(current, "stays", days + 1, morning),)
    lately = {name for day, name in morning.depths if morning.today - day <= REST_DAYS} | {current}
    skills = {facts.drill.skill for name, facts in morning.facts.items() if name in lately}
    resting = {name for name, facts in morning.facts.items() if facts.drill.skill in skills}
    able = [name for name in morning.open if _suits_depth(morning.facts[name].drill)]
    pool = [n for n in able if n not in resting] or [n for n in able if n != current] or able
    if not pool:
        return ()
    name = _choose_next(pool, morning)
    return (_make_depth(name, _find_reason(morning.facts[name]), 1, morning),)


def _suits_depth(drill: Drill) -> bool:
    return suits_depth(drill) and drill.subject != SET_UP


def _choose_next(pool: Sequence[str], morning: Morning) -> str:
    """Choose by need, by repeated misses, by what is not known yet, at last by width and waiting."""
    facts, ever = morning.facts, {name for _, name in morning.depths}
    groups = (
        [name for name in pool if facts[name].need],
        [name for name in pool if facts[name].weak and facts[name].visits > 1],
        [name for name in pool if name not in ever and not facts[name].settled],
    )
    return next((group[0] for group in groups if group), None) or max(pool, key=lambda name: facts[name].weight)


def _count_in_a_row(names: Sequence[str]) -> int:
    """Count how often the last name stands at the end."""
    return next((place for place, name in enumerate(reversed(names)) if name != names[-1]), len(names))


def _make_depth(name: str, reason: Reason, number: int, morning: Morning) -> PlanLine:
    facts = morning.facts[name]
    shorter = facts.settled or number > FEWEST_DAYS
    return _make_line(facts, count_depth_trials(facts.drill, shorter), reason, "depth", number)


def _make_look(name: str, room_s: float, morning: Morning) -> PlanLine:
    facts = morning.facts[name]
    return _make_line(facts, count_look_trials(facts.drill, room_s), _find_reason(facts), "look")


def _make_line(facts: Facts, trials: int, reason: Reason, part: Part, number: int = 0) -> PlanLine:
    return PlanLine(facts.standing, trials, reason, part, facts.days_since, number, facts.need)


def _find_reason(facts: Facts) -> Reason:
    """Name the main reason."""
    if facts.need:
        return "sheet"
    if not facts.visits:
        return "new_here" if facts.practice.elsewhere else "new"
    if facts.weak:
        return "lost" if facts.practice.lost else "short"
    return "uncertain" if facts.moving else "back"


def _queue_looks(lines: Sequence[PlanLine], room_s: float, morning: Morning) -> list[PlanLine]:
    """Queue what may follow: what is needed, what is new and what is due again by turns, else what is due soonest."""
    skills = {line.standing.drill.skill for line in lines}
    facts = {name: morning.facts[name] for name in morning.open if morning.facts[name].drill.skill not in skills}
    due = sorted((name for name in facts if facts[name].due), key=morning.rank_due)
    new = [name for name in facts if not facts[name].visits]
    begun = [line for line in lines if line.part == "look"]
    # One a day is due again, the others are new as long as something is; every other day three new ones come first.
    again, new_day = any(line.days_since is not None for line in begun), morning.today % 2 == 1
    begins_new = again or (new_day and len(begun) < NEW_FIRST)
    needed = [] if begun else [name for name in (*due, *new) if facts[name].need]
    looks = {name: _make_look(name, room_s, morning) for name in facts}
    met = {line.standing.drill.subject for line in lines}

    def rank(name: str) -> tuple[bool, bool, bool]:
        """Put long ones, for which another day has more room, behind others, then families that were met today."""
        known = facts[name].drill.subject in met and not facts[name].weak
        other = (name in due) == begins_new
        return looks[name].seconds > LONG_SHARE * room_s, morning.much_unmet and other, known

    mixed = sorted([*new, *due] if begins_new else [*due, *new], key=rank)
    wanting = not begun or _count_seconds(lines, morning) < 60 * SHORTEST_MINUTES
    early = [name for name in facts if name not in due and name not in new] if wanting else []
    return [looks[name] for name in dict.fromkeys([*needed, *mixed, *sorted(early, key=morning.rank_due)])]


def _fits(look: PlanLine, lines: Sequence[PlanLine], morning: Morning) -> bool:
    """Tell whether there is room for one more, shorter than what is in depth, with one check of the set-up at most."""
    longer, depth_s = [*lines, look], max((line.seconds for line in lines if line.part == "depth"), default=1e9)
    fits = _count_seconds(longer, morning) <= 60 * LONGEST_MINUTES and look.seconds < depth_s
    return fits and len(_list_checks(longer, morning)) <= 1


def _count_seconds(lines: Sequence[PlanLine], morning: Morning) -> float:
    return sum(line.seconds for line in (*lines, *_list_checks(lines, morning)))


def _list_checks(lines: Sequence[PlanLine], morning: Morning) -> list[PlanLine]:
    """List the questions about the set-up that nobody had answered this morning and that these lines need."""
    checks: dict[str, PlanLine] = {}
    for line in lines:
        reach, title = line.standing.drill.reach, line.standing.drill.title
        check = find_check(morning.drills, reach)
        if check is not None and reach not in checks and morning.before.known.get(reach, True) is None:
            asked = morning.facts[check.drill].standing
            checks[reach] = PlanLine(asked, check.trials, "check", "check", None, words=title)
    return list(checks.values())


def _mark_done(line: PlanLine, morning: Morning) -> PlanLine:
    """Take off what was answered today; most of a run is all of it."""
    drill = line.standing.drill
    answered = morning.facts[drill.drill].practice.today
    if line.part == "check":
        return replace(line, done=morning.reach.known.get(drill.reach) is not None)
    if answered >= DONE_SHARE * line.trials:
        return replace(line, done=True)
    return line if drill.form in WHOLE else replace(line, trials=line.trials - answered)
