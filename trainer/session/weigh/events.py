"""Blind questions and answers as plain facts, for scripts."""

from __future__ import annotations

from typing import Any

from trainer.decisions.rounds import Round
from trainer.session.weigh.words import QUESTIONS


def describe_open(held: Round) -> dict[str, Any]:
    """Describe the question that is open."""
    index = len(held.answers)
    return {
        "trial": held.round,
        "index": index,
        "question": QUESTIONS[held.kind],
        "answers": ["1", "2"],
        "amount": None,
    }


def describe_last(held: Round) -> dict[str, Any] | None:
    """Describe the last answer; None before the first."""
    if not held.answers:
        return None
    index = len(held.answers) - 1
    right, answer = held.asked[index].right_answer, held.answers[index]
    return {
        "trial": held.round,
        "index": index,
        "question": QUESTIONS[held.kind],
        "answers": ["1", "2"],
        "answer": answer,
        "right_answer": right,
        "correct": answer == right if right else None,
        "kept": True,
        "amount": None,
    }
