"""Say or set how much: an estimate against anchors, a match by ear, a time that fits."""

from __future__ import annotations

import zlib
from dataclasses import dataclass

import numpy as np

from trainer.errors import BadValue
from trainer.exercise.drill import Drill
from trainer.exercise.forms.form import AS_IT_IS, FIRST, AnswerKind, Grade, Layout, Placement, PlainForm, Turn
from trainer.exercise.forms.picking import take_processed
from trainer.units import write_amount

# Steps of a control; the person moves through them one by one.
CONTROL_STEPS = 13
STEPS_FROM_THE_END = 2
OFFERS = 9
NONE = "none"
# An estimate counts as right within a third of the amount, or half of a typical threshold: common practice, no source.
NEAR_SHARE, NEAR_TYPICAL = 1 / 3, 1 / 2


def read_amount(text: str, drill_unit: str, low: float, high: float) -> str:
    """Read an amount, with or without its unit, and write it plainly.

    Raises
    ------
    BadValue
        If it is no number, or outside of what may be answered.
    """
    plain = text.strip().replace("\u2212", "-").removesuffix(drill_unit).strip()
    expected = f"an amount from {low:g} to {high:g} {drill_unit}"
    try:
        value = float(plain.replace(",", "."))
    except ValueError:
        raise BadValue("answer", "amount", text.strip() or "nothing", expected) from None
    if not low <= value <= high:
        raise BadValue("answer", "amount", text.strip(), expected)
    return f"{value:g}"


def list_offers(drill: Drill) -> tuple[float, ...]:
    """List amounts to choose from where none can be typed: even by ratio between the drill's bounds, and none."""
    ladder = np.geomspace(drill.amount.low, drill.amount.high, OFFERS)
    return (0.0, *dict.fromkeys(float(f"{each:.2g}") for each in ladder))


def draw_amount(drill: Drill, seed: int, index: int) -> float:
    """Draw an amount by lot, evenly by ratio between the drill's bounds, to two significant figures.

    Where it is matched with a control, it keeps a few steps from the bounds, at which the control ends.
    """
    rng = np.random.default_rng([seed, zlib.crc32(drill.drill.encode()), 3, index])
    room = STEPS_FROM_THE_END * find_step(drill) if drill.form == "match_by_ear" else 0.0
    drawn = float(np.exp(rng.uniform(np.log(drill.amount.low + room), np.log(drill.amount.high - room))))
    return float(f"{drawn:.2g}")


def find_step(drill: Drill) -> float:
    """Find the step of a control: half a typical threshold, or less where the bounds are near."""
    return min(drill.amount.typical / 2, (drill.amount.high - drill.amount.low) / (CONTROL_STEPS - 1))


def is_near(answered: float, right: float, drill: Drill) -> bool:
    """Tell whether an estimate counts as right."""
    return abs(answered - right) <= max(NEAR_SHARE * right, NEAR_TYPICAL * drill.amount.typical)


def grade_amount(answer: str, layout: Layout, drill: Drill) -> Grade:
    """Judge an amount by its distance from the right one."""
    right, answered = float(layout.right_answer), float(answer)
    error = answered - right
    score = float(np.exp(-abs(np.log2(max(answered, 1e-3) / max(right, 1e-3)))))
    said = "set it" if drill.form == MatchByEar.name else "said"
    words = f"It was {word_amount(right, drill)}; you {said} {describe_error(error, drill.amount.unit) or 'just so'}."
    return Grade(is_near(answered, right, drill), score, error, words)


def word_amount(amount: float, drill: Drill) -> str:
    """Write an exact amount with its unit, and none as that."""
    return f"{amount:.4g} {drill.amount.unit}" if amount else NONE


def describe_error(error: float, unit: str) -> str:
    """Say how far to which side an answer was off; nothing where that rounds to nought."""
    if float(f"{abs(error):.1f}") == 0.0:
        return ""
    return f"{write_amount(abs(error))} {unit} too {'much' if error > 0 else 'little'}"


@dataclass(frozen=True)
class HowMuch(PlainForm):
    """An amount that has to be told, between two anchors that are named: none, and the drill's anchor."""

    name: str = "how_much"
    title: str = "Say how much"
    answer_kind: AnswerKind = "amount"
    placement: Placement = "by_lot"

    def task(self, drill: Drill) -> str | None:
        """Link: none; what counts are error and bias."""
        return None

    def lay_out(self, drill: Drill, amount: float, rng: np.random.Generator, turn: Turn = FIRST) -> Layout:
        """Two anchors, then the hidden amount."""
        anchor = drill.anchor
        takes = (AS_IT_IS, take_processed(drill, anchor), take_processed(drill, amount))
        labels = (f"1, {NONE}", f"2, {word_amount(anchor, drill)}", "3")
        return Layout(takes, labels, (), f"{amount:g}", 2, control_unit=drill.amount.unit)

    def read_answer(self, text: str, layout: Layout) -> str:
        """Read an amount."""
        return read_amount(text, layout.control_unit, 0.0, 1000.0)

    def grade(self, answer: str, layout: Layout, drill: Drill) -> Grade:
        """Judge by the error."""
        return grade_amount(answer, layout, drill)


@dataclass(frozen=True)
class MatchByEar(PlainForm):
    """A hidden version, and a control to be moved until its own version sounds equal."""

    name: str = "match_by_ear"
    title: str = "Match by ear"
    answer_kind: AnswerKind = "amount"
    placement: Placement = "by_lot"

    def task(self, drill: Drill) -> str | None:
        """Link: none; what counts are error and spread."""
        return None

    def lay_out(self, drill: Drill, amount: float, rng: np.random.Generator, turn: Turn = FIRST) -> Layout:
        """Put the hidden version first, then the control's, whose range is shifted by lot."""
        control = list_control(drill, amount, rng)
        takes = (take_processed(drill, amount), *(take_processed(drill, each) for each in control))
        labels = ("1, to be matched", *(f"2, control at {write_amount(each)} {drill.amount.unit}" for each in control))
        return Layout(takes, labels, (), f"{amount:g}", 0, control, drill.amount.unit)

    def read_answer(self, text: str, layout: Layout) -> str:
        """Read an amount within the control's range."""
        return read_amount(text, layout.control_unit, layout.control[0], layout.control[-1])

    def grade(self, answer: str, layout: Layout, drill: Drill) -> Grade:
        """Judge by the error."""
        return grade_amount(answer, layout, drill)


def list_control(drill: Drill, amount: float, rng: np.random.Generator) -> tuple[float, ...]:
    """List a control's amounts: even steps of half a typical threshold, the hidden one at a place by lot.

    Its range says nothing about the hidden amount but that it lies within; amounts keep to the drill's bounds.
    """
    low, high = drill.amount.low, drill.amount.high
    step = find_step(drill)
    most = min(CONTROL_STEPS - 1, int((amount - low) / step + 1e-9))
    least = max(0, CONTROL_STEPS - 1 - int((high - amount) / step + 1e-9))
    place = int(rng.integers(min(least, most), most + 1))
    return tuple(round(amount + (number - place) * step, 6) for number in range(CONTROL_STEPS))
