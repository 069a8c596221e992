"""The keys of a mix on its way."""

from __future__ import annotations

from trainer.session import intents
from trainer.session.keys import ALL_KEYS, ARROWS, LETTERS, SPACE, bind_enter, bind_versions
from trainer.session.view import Key

BACK = Key("Esc", "back", (("escape", intents.GoBack()),))
CANCEL = Key("Esc", "cancel", (("escape", intents.GoBack()),))
COMPLETE = Key("Tab", "complete the path", ())
PROJECTS = (bind_enter("open", intents.GoOn()), COMPLETE, BACK, ALL_KEYS)
CHANGED = (bind_enter("carry the sheet over", intents.GoOn()), BACK, ALL_KEYS)
WORKING = (CANCEL, ALL_KEYS)
AIM = (bind_enter("take the line, go to the next", intents.GoOn()), BACK, ALL_KEYS)
STEP = (bind_enter("go on", intents.GoOn()), BACK, ALL_KEYS)


def list_pass_keys(kinds: tuple[str, ...]) -> tuple[Key, ...]:
    """Bind a pass: a row of letters marks what is heard, the space bar anything; only leaving stops the sound."""
    marks = tuple((LETTERS[place], intents.MarkNow(kind)) for place, kind in enumerate(kinds))
    label = " ".join(letter.upper() for letter, _ in marks)
    anything = Key("Space", "mark anything", (("space", intents.MarkNow("anything")),))
    return (
        Key(label, "mark, from the left", marks),
        anything,
        Key("Esc", "end the pass", (("escape", intents.GoBack()),)),
        ALL_KEYS,
    )


def list_named_keys(count: int) -> tuple[Key, ...]:
    """Bind listening with names."""
    return (bind_versions(count), SPACE, ARROWS, bind_enter("go on", intents.GoOn()), BACK, ALL_KEYS)
