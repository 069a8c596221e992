"""Mark the moments at which something is heard in a pass from start to end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy

from trainer.errors import BadValue
from trainer.exercise.drill import Drill
from trainer.exercise.forms.form import FIRST, AnswerKind, Grade, Layout, Placement, PlainForm, Turn
from trainer.exercise.forms.naming import take_choice
from trainer.exercise.forms.picking import take_processed
from trainer.units import begin_large, write_number

# A mark counts within so long after what it belongs to, less the person's own delay: common practice, no source.
WINDOW_S = 1.5
EARLY_S = 0.2
LONGEST_PASS_S = 3600.0


@dataclass(frozen=True)
class Mark:
    """One mark: when, and what was heard; no word means any fault."""

    at_s: float
    kind: str = ""


@dataclass(frozen=True)
class Marks:
    """Judge the marks of one pass.

    Parameters
    ----------
    hits, misses, false_alarms : int
        Faults that were marked, faults that were not, marks that belong to none.
    d_prime : float
        Sensitivity over moments as long as the window, log-linear correction.
    lateness_s : float or None
        Mean time from a fault to its mark, less the person's delay; None without hits.
    found : tuple of bool
        For each fault.
    """

    hits: int
    misses: int
    false_alarms: int
    d_prime: float
    lateness_s: float | None
    found: tuple[bool, ...]


def judge_marks(marks: Sequence[Mark], faults: Sequence[Mark], length_s: float, delay_s: float = 0.0) -> Marks:
    """Give each fault the first free mark in its window, and count.

    Parameters
    ----------
    marks : sequence of Mark
        What the person marked, s from the start.
    faults : sequence of Mark
        What there was to find, s from the start.
    length_s : float
        Length of the pass, s.
    delay_s : float
        The person's own delay, s, as measured on plain sounds.

    Returns
    -------
    Marks

    Notes
    -----
    d' = z(hits) - z(false alarms) with half a count added to each and one to each total (M. J. Hautus, "Corrections
    for extreme proportions", Behav. Res. Methods 27, 1995; from memory).
    """
    free = sorted(marks, key=lambda mark: mark.at_s)
    found, late = [], []
    for fault in sorted(faults, key=lambda each: each.at_s):
        fitting = (m for m in free if _belongs(m, fault, delay_s))
        mark = next(fitting, None)
        found.append(mark is not None)
        if mark is not None:
            free.remove(mark)
            late.append(mark.at_s - delay_s - fault.at_s)
    hits, moments = sum(found), max(1.0, length_s / WINDOW_S - len(found))
    hit_rate = (hits + 0.5) / (len(found) + 1)
    alarm_rate = min((len(free) + 0.5) / (moments + 1), 1 - 0.5 / (moments + 1))
    d_prime = float(scipy.special.ndtri(hit_rate) - scipy.special.ndtri(alarm_rate))
    return Marks(hits, len(found) - hits, len(free), d_prime, float(np.mean(late)) if late else None, tuple(found))


def _belongs(mark: Mark, fault: Mark, delay_s: float) -> bool:
    """Tell whether a mark may belong to a fault: in time, and of its kind if it names one."""
    after_s = mark.at_s - delay_s - fault.at_s
    return -EARLY_S <= after_s <= WINDOW_S and mark.kind in ("", fault.kind)


NOTHING = "none"


@dataclass(frozen=True)
class MarkTheMoment(PlainForm):
    """A pass through part of a song, from start to end: mark what is heard, when it is heard.

    The right answer is the length of the pass, a bar, and the faults: ``30.00 | 12.40 click; 20.10 pop``.
    """

    name: str = "mark_the_moment"
    title: str = "Mark the moment"
    answer_kind: AnswerKind = "marks"
    placement: Placement = "by_lot"

    def task(self, drill: Drill) -> str | None:
        """Link: none; what counts are hits, misses and false alarms."""
        return None

    def lay_out(self, drill: Drill, amount: float, rng: np.random.Generator, turn: Turn = FIRST) -> Layout:
        """Name the kinds of fault; places and number are drawn when the pass is made."""
        kinds = tuple(choice.answer for choice in drill.choices) or (drill.move,)
        take = take_choice(drill.choices[0], amount) if drill.choices else take_processed(drill, amount)
        return Layout((take,), ("the pass",), kinds, "", 0)

    def read_answer(self, text: str, layout: Layout) -> str:
        """Read marks: times in seconds, each with the fault's name if wished, semicolons between; or ``none``."""
        if text.strip().lower() in ("", NOTHING):
            return NOTHING
        return write_marks([_read_mark(part, layout.answers) for part in text.split(";") if part.strip()])

    def grade(self, answer: str, layout: Layout, drill: Drill) -> Grade:
        """Count hits, misses and false alarms."""
        length, faults = layout.right_answer.split(" | ")
        judged = judge_marks(read_marks(answer), read_marks(faults), float(length))
        count = judged.hits + judged.misses
        share = 1.0 if not count else judged.hits / count
        score = share / (1 + judged.false_alarms)
        return Grade(score == 1.0, score, judged.lateness_s, _tell_marks(judged, faults))


def write_marks(marks: Sequence[Mark]) -> str:
    """Write marks in the order of time, s."""
    ordered = sorted(marks, key=lambda mark: mark.at_s)
    return "; ".join(f"{mark.at_s:.2f} {mark.kind}".strip() for mark in ordered) or NOTHING


def read_marks(text: str) -> list[Mark]:
    """Read what `write_marks` has written."""
    parts = [] if text == NOTHING else [part.split() for part in text.split(";")]
    return [Mark(float(part[0]), part[1] if len(part) > 1 else "") for part in parts]


def _read_mark(text: str, kinds: tuple[str, ...]) -> Mark:
    """Read one mark that a person typed."""
    words = text.split()
    expected = f"a time in seconds and, if wished, one of {', '.join(kinds)}; as 12.4 {kinds[0]}"
    try:
        at_s = float(words[0].replace(",", "."))
    except ValueError:
        raise BadValue("answer", "mark", text.strip(), expected) from None
    kind = " ".join(words[1:]).lower()
    if not 0 <= at_s < LONGEST_PASS_S or kind not in ("", *kinds):
        raise BadValue("answer", "mark", text.strip(), expected)
    return Mark(at_s, kind)


def _tell_marks(judged: Marks, faults: str) -> str:
    """Say what was found, what was missed, and where everything was."""
    count, there = judged.hits + judged.misses, sorted(read_marks(faults), key=lambda mark: mark.at_s)
    alarms = judged.false_alarms
    extra = f" {alarms} mark{'s' if alarms != 1 else ''} belonged to nothing." if alarms else ""
    if not count:
        return f"There was nothing to find.{extra}"
    if count == 1:
        found = "You marked it." if judged.hits else "You missed it."
        return f"{begin_large(_word_fault(there[0]))}. {found}{extra}"
    where = ", ".join(_word_fault(mark) for mark in there)
    found = f"all {count}" if judged.hits == count else f"{judged.hits} of {count}"
    return f"There was {where}. You marked {found}.{extra}"


def _word_fault(fault: Mark) -> str:
    """Name a fault, with its article and its time."""
    article = "an" if fault.kind[:1] in "aeiou" else "a"
    return f"{article} {fault.kind} at {write_number(fault.at_s)} s"
