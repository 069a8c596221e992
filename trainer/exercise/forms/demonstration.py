"""A labelled example: the loop as it is, and what will be asked for, large and named."""

from __future__ import annotations

from trainer.exercise.drill import Drill
from trainer.exercise.forms.form import AS_IT_IS, REFERENCE, Layout
from trainer.exercise.forms.naming import take_choice
from trainer.exercise.forms.picking import take_processed
from trainer.exercise.forms.referring import OF_MIX, OF_REFERENCE, AgainstReference
from trainer.units import write_amount, write_number

MOST_VERSIONS = 8


def lay_out_demonstration(drill: Drill, amount: float) -> Layout:
    """Lay a labelled example out: every change that can be asked for, or the drill's own at an amount."""
    if drill.choices:
        shown = drill.choices[: MOST_VERSIONS - 1]
        takes = (AS_IT_IS, *(take_choice(choice, amount) for choice in shown))
        return Layout(takes, ("as it is", *(choice.words for choice in shown)), (), "", 1)
    if drill.rungs:
        # The ends of the ladder and its middle: more would take long to make, and to hear.
        rungs = tuple(dict.fromkeys((drill.rungs[0], drill.rungs[len(drill.rungs) // 2], drill.rungs[-1])))
        takes = (AS_IT_IS, *(take_processed(drill, rung) for rung in rungs))
        return Layout(takes, ("as it is", *(word_processed(drill, rung) for rung in rungs)), (), "", len(rungs))
    if drill.form == AgainstReference.name:
        takes = (REFERENCE, AS_IT_IS, take_processed(drill, amount), take_processed(drill, -amount))
        labels = (OF_REFERENCE, OF_MIX, word_processed(drill, amount), word_processed(drill, -amount))
        return Layout(takes, labels, (), "", 2)
    return Layout((AS_IT_IS, take_processed(drill, amount)), ("as it is", word_processed(drill, amount)), (), "", 1)


def word_processed(drill: Drill, amount: float) -> str:
    """Word the processed version, with its amount; one that may go either way gets its sign."""
    number = write_number(amount) if drill.rungs else write_amount(amount, signed=drill.signed)
    return drill.processed_words.format(amount=f"{number} {drill.rung_unit or drill.amount.unit}")
