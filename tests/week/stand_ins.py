"""Sixty drills of all families and forms, for the plan alone: nothing can be heard of them."""

from __future__ import annotations

from dataclasses import replace

from trainer.exercise.drill import Choice, Drill
from trainer.exercise.families import FAMILIES, SET_UP

# Of each family the forms of its drills, in order; a letter behind a form is what the set-up has to play.
FORMS_BY_FAMILY = {
    SET_UP: ("lesson low", "lesson top", "lesson"),
    "Level": ("pick_of_three", "match_by_ear", "louder_or_better"),
    "Balance": (*("pick_of_three",) * 6, "pick_of_three top", "name_it", "name_it", "how_much", "prefer"),
    "Low end": ("pick_of_three", "pick_of_three low", "name_it low", "lesson"),
    "Saturation": ("pick_of_three", "pick_of_three", "name_it", "put_in_order", "abx"),
    "Over-limiting": ("pick_of_three", "pick_of_three", "put_in_order", "abx", "how_much"),
    "Slow-release pumping": ("pick_of_three", "pick_of_three", "name_it", "set_release"),
    "Compression": ("pick_of_three", "pick_of_three", "pick_of_two", "name_it", "set_release"),
    "Stereo": ("pick_of_three", "pick_of_two", "name_it", "oddity"),
    "Coding, word length": ("pick_of_three", "abx", "pick_of_three top", "lesson"),
    "Faults": ("pick_of_three", "pick_of_three", "pick_of_three", "name_it", "mark_the_moment", "mark_the_moment"),
    "Judgement": ("name_it", "prefer", "abx", "pick_of_three", "how_much", "name_it", "against_reference"),
}
TRIALS = {
    "name_it": 20,
    "against_reference": 16,
    "how_much": 20,
    "match_by_ear": 16,
    "abx": 16,
    "prefer": 12,
    "louder_or_better": 12,
    "put_in_order": 6,
    "mark_the_moment": 5,
    "set_release": 6,
    "lesson": 1,
}
MOVES = {"put_in_order": "push", "set_release": "compressor", "louder_or_better": "level", "mark_the_moment": "click"}


def make_stand_ins(pattern: Drill) -> dict[str, Drill]:
    """Make the drills after the pattern of a bundled one, sorted by family."""
    drills = [_make(pattern, family, place) for family in FAMILIES for place in range(len(FORMS_BY_FAMILY[family]))]
    return {drill.drill: drill for drill in drills}


def _make(pattern: Drill, family: str, place: int) -> Drill:
    """Make one; the two parts of the mix are the last two of Judgement but one, which is set beside a reference."""
    form, _, reach = FORMS_BY_FAMILY[family][place].partition(" ")
    name = f"{''.join(letter for letter in family.lower() if letter.isalpha())}_{place + 1}"
    parts = family == "Judgement" and place in (4, 5)
    move = "voice_level" if parts else MOVES.get(form, "bell")
    settings = {"centre_hz": 100.0 * (place + 1)} if move == "bell" else {}
    named = [
        Choice("boost", "a boost", move, settings),
        Choice("cut", "a cut", move, settings, -1.0),
    ]
    return replace(
        pattern,
        drill=name,
        title=f"{family} {place + 1}",
        subject=family,
        form=form,
        move=move,
        skill=name,
        settings=settings,
        short_question=f"{form.replace('_', ' ')}",
        trials=TRIALS.get(form, 30),
        choices=tuple(named) if form in ("name_it", "prefer") else (),
        rungs=(2.0, 4.0, 6.0, 8.0) if form == "put_in_order" else (),
        anchor=3.0,
        reach=reach,
    )
