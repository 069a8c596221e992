"""A blind question, worded, and as plain facts. Nothing in it depends on which version is which."""

from __future__ import annotations

from typing import Any

from trainer.decisions.rounds import Kind, Round
from trainer.session import intents
from trainer.session.blind_state import Blind
from trainer.session.frame import make_frame
from trainer.session.keys import ALL_KEYS, ARROWS, LEAVE, SPACE, TAKE_BACK, bind_enter, bind_versions
from trainer.session.sounding import tell_sounding
from trainer.session.state import State
from trainer.session.view import Button, Key, Progress, TrialView, Waveform
from trainer.session.world import World

QUESTIONS = {
    "prefer": "Which one do you prefer?",
    "all": "Which one do you prefer?",
    "leaders": "Which one do you prefer?",
    "apart": "Which one is X, 1 or 2?",
}
SUBTITLES = {
    "prefer": "which do you prefer, blind",
    "all": "every two, blind",
    "leaders": "those that lead, blind",
    "apart": "which one is X, blind",
}


def view_blind(state: State, blind: Blind, world: World) -> TrialView:
    """Word the question that is open."""
    held, heard, asked = blind.held, blind.heard, blind.asked
    labels = ("1", "2", "X")[: len(asked.sounds)]
    words = "X is {}" if held.kind == "apart" else "I prefer {}"
    start, end = heard.places[asked.stretch]
    return TrialView(
        frame=make_frame(
            state,
            world,
            heard.title,
            SUBTITLES[held.kind],
            _list_keys(held.kind, len(asked.sounds), blind.mendable),
            f"{len(held.answers) + 1} of {len(held.asked)}",
        ),
        marks=_mark(held),
        versions=tuple(
            Button(label, intents.Listen(place), selected=blind.version == place)
            for place, label in enumerate(labels, 1)
        ),
        balance=heard.balance,
        waveform=Waveform(heard.outlines[asked.stretch], start, end, heard.captions[asked.stretch]),
        sounding=tell_sounding(blind.version, heard.sounds[asked.stretch].shape[1], world),
        question=QUESTIONS[held.kind],
        answers=tuple(Button(words.format(answer), intents.GiveAnswer(answer)) for answer in ("1", "2")),
    )


def describe_open(held: Round) -> dict[str, Any]:
    """Describe the question that is open as plain facts."""
    return _describe(held, len(held.answers))


def describe_last(held: Round) -> dict[str, Any] | None:
    """Describe the last answer as plain facts; None before the first."""
    if not held.answers:
        return None
    index = len(held.answers) - 1
    right, answer = held.asked[index].right_answer, held.answers[index]
    correct = answer == right if right else None
    return {**_describe(held, index), "answer": answer, "right_answer": right, "correct": correct, "kept": True}


def _describe(held: Round, index: int) -> dict[str, Any]:
    question = QUESTIONS[held.kind]
    return {"trial": held.round, "index": index, "question": question, "answers": ["1", "2"], "amount": None}


def _mark(held: Round) -> tuple[Progress, ...]:
    """Mark what is answered and what lies ahead; not what was right."""
    done, count = len(held.answers), len(held.asked)
    marks: list[Progress] = ["done"] * done
    if done < count:
        marks.append("current")
    marks += ["ahead"] * (count - len(marks))
    return tuple(marks)


def _list_keys(kind: Kind, count: int, mendable: bool) -> tuple[Key, ...]:
    """Bind a blind question: digits listen; Enter prefers what is playing, or Q and W say what X is."""
    answers = (
        bind_enter("prefer what is playing", intents.AnswerPlaying())
        if kind != "apart"
        else Key("Q W", "X is 1, X is 2", (("q", intents.GiveAnswer("1")), ("w", intents.GiveAnswer("2"))))
    )
    others = (*((TAKE_BACK,) if mendable else ()), SPACE, ARROWS, LEAVE, ALL_KEYS)
    return (bind_versions(count), answers, *others)
