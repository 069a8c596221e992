"""Complete rounds as parts of a page."""

from __future__ import annotations

from trainer.decisions.rounds import Round
from trainer.session.pages import Part, Share, Tally
from trainer.session.view import Progress


def draw_round(held: Round) -> Part:
    """Show a complete round: marks of right and wrong, or how the picks split, the one that leads first."""
    if held.kind == "apart":
        pairs = zip(held.answers, held.asked, strict=False)
        marks: tuple[Progress, ...] = tuple("right" if a == asked.right_answer else "wrong" for a, asked in pairs)
        return Tally("Could you tell them apart?", marks, f"{held.correct} of {len(held.answers)}")
    places = held.pair if held.kind == "prefer" else held.among or tuple(range(len(held.versions)))
    picks = sorted(((held.names[place], float(held.count_picks(place))) for place in places), key=lambda each: -each[1])
    names, counts = tuple(name for name, _ in picks), tuple(count for _, count in picks)
    title = "Which did you prefer?" if held.kind == "prefer" else "Of every two, which did you prefer?"
    return Share(title, names, counts, f"{len(held.answers)} picks")
