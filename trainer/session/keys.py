"""The keys of each screen, as printed and as bound."""

from __future__ import annotations

from dataclasses import replace

from trainer.exercise.forms.form import AnswerKind, Layout
from trainer.session import intents
from trainer.session.view import Button, Key


def bind_enter(does: str, intent: intents.Intent) -> Key:
    """Bind Enter."""
    return Key("Enter", does, (("return", intent),))


ENTER = bind_enter("", intents.GoOn())
"""Press the main button of the screen: the view gives its words, and what it means."""


def bind_versions(count: int, shown: bool = True) -> Key:
    """Bind digits to versions."""
    label = " ".join(str(number + 1) for number in range(count))
    return Key(label, "listen", tuple((str(n + 1), intents.Listen(n + 1)) for n in range(count)), shown)


ARROWS = Key(
    "← →",
    "listen to the next one",
    (("left", intents.ListenOther(-1)), ("right", intents.ListenOther(1))),
    shown=False,
)
CHOOSE = Key("↑ ↓", "choose", (("up", intents.ListenOther(-1)), ("down", intents.ListenOther(1))))
# Letters in a row under the left hand, for answers; D, R and others keep their own meaning elsewhere.
LETTERS = "qwertyuiop"
CONTROL = Key("↑ ↓", "more, less", (("up", intents.MoveControl(1)), ("down", intents.MoveControl(-1))))
BEGIN_AGAIN = Key("Backspace", "begin again", (("backspace", intents.PutNext(0)),))
TAKE_BACK = Key("Backspace", "take back the last pick", (("backspace", intents.TakeBack()),))
SPACE = Key("Space", "pause", (("space", intents.ToggleSound()),))
DIFFERENCE = Key("D", "only what changed", (("d", intents.OnlyWhatChanged()),))
RECEIPT = Key("R", "receipt", (("r", intents.ToggleReceipt()),))
LEAVE = Key("Esc", "leave", (("escape", intents.GoBack()),))
STAY = Key("Esc", "stay", (("escape", intents.GoBack()),))
ALL_KEYS = Key("?", "all keys", (("question", intents.ToggleKeys()), ("f1", intents.ToggleKeys())))
CAUTIONS = (ENTER, ALL_KEYS)
LEAVING = (ENTER, STAY, ALL_KEYS)
WAITING = (Key("Esc", "leave", (("escape", intents.GoBack()),)), ALL_KEYS)


def list_problem_keys(drills: tuple[str, ...]) -> tuple[Key, ...]:
    """Bind the page after something that did not work: digits start another drill, where some are offered."""
    label = " ".join(str(number + 1) for number in range(len(drills)))
    digits = Key(label, "start that one", tuple((str(n + 1), intents.StartDrill(d)) for n, d in enumerate(drills)))
    return (*((digits,) if drills else ()), ENTER, LEAVE, ALL_KEYS)


def list_today_keys(drills: tuple[str, ...]) -> tuple[Key, ...]:
    """Bind the first screen: digits start a line of the plan."""
    label = " ".join(str(number + 1) for number in range(len(drills)))
    digits = Key(label, "start that one", tuple((str(n + 1), intents.StartDrill(d)) for n, d in enumerate(drills)))
    return (
        bind_enter("start", intents.GoOn()),
        digits,
        CHOOSE,
        ALL_KEYS,
        replace(LEAVE, does="close Evenhand; asks first", shown=False),
    )


def list_demonstration_keys(count: int) -> tuple[Key, ...]:
    """Bind a labelled example."""
    return (bind_versions(count), SPACE, ENTER, ARROWS, LEAVE, ALL_KEYS)


def list_question_keys(layout: Layout, kind: AnswerKind, offered: tuple[Button, ...]) -> tuple[Key, ...]:
    """Bind an open question: digits listen; Enter, the arrows or a row of letters answer, as the form has it."""
    listen = bind_versions(layout.numbered)
    others = (SPACE, ARROWS, LEAVE, ALL_KEYS)
    if layout.control:
        return (listen, CONTROL, ENTER, *others)
    if kind == "marks":
        marks = tuple((LETTERS[n], button.intent) for n, button in enumerate(offered[:-2]))
        anything = Key("Space", "mark anything", (("space", intents.MarkNow()),))
        return (
            _bind_letters(marks, "mark, from the left"),
            anything,
            ENTER,
            LEAVE,
            ALL_KEYS,
        )
    if kind == "order":
        put = tuple((LETTERS[n], intents.PutNext(n + 1)) for n in range(layout.numbered))
        return (listen, _bind_letters(put, "put 1, 2, 3 ... next"), BEGIN_AGAIN, *others)
    if set(layout.answers) == {str(number + 1) for number in range(layout.numbered)}:
        return (listen, bind_enter("answer what is playing", intents.AnswerPlaying()), *others)
    answers = tuple((letter, button.intent) for letter, button in zip(LETTERS, offered, strict=False))
    return (listen, _bind_letters(answers, "answer, from the left"), *others)


def _bind_letters(letters: tuple[tuple[str, intents.Intent], ...], does: str) -> Key:
    return Key(" ".join(letter.upper() for letter, _ in letters), does, letters)


def list_reveal_keys(count: int) -> tuple[Key, ...]:
    """Bind a reveal."""
    return (
        bind_versions(count),
        DIFFERENCE,
        RECEIPT,
        ENTER,
        replace(SPACE, shown=False),
        ARROWS,
        LEAVE,
        ALL_KEYS,
    )


def list_end_keys(drill: str) -> tuple[Key, ...]:
    """Bind the end of a run."""
    again = Key("A", "another run", (("a", intents.StartDrill(drill)),))
    return (ENTER, again, LEAVE, ALL_KEYS)
