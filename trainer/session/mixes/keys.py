"""The keys of a mix on its way."""

from __future__ import annotations

from dataclasses import replace

from trainer.session import intents
from trainer.session.keys import ALL_KEYS, ARROWS, CONTROL, ENTER, LETTERS, SPACE, bind_versions
from trainer.session.view import Key

BACK = Key("Esc", "back", (("escape", intents.GoBack()),))
CANCEL = Key("Esc", "cancel", (("escape", intents.GoBack()),))
COMPLETE = Key("Tab", "complete the path", ())
PROJECTS = (ENTER, COMPLETE, BACK, ALL_KEYS)
CHANGED = (ENTER, BACK, ALL_KEYS)
WORKING = (CANCEL, ALL_KEYS)
AIM = (ENTER, BACK, ALL_KEYS)
END = (
    bind_versions(2),
    replace(CONTROL, does="longer, shorter fade"),
    SPACE,
    ARROWS,
    ENTER,
    BACK,
    ALL_KEYS,
)
STEP = (ENTER, BACK, ALL_KEYS)


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
    """Bind listening with names; what has no digit of its own is reached by the arrows."""
    return (bind_versions(min(count, 9)), SPACE, ARROWS, ENTER, BACK, ALL_KEYS)


def list_part_keys(parts: tuple[str, ...]) -> tuple[Key, ...]:
    """Bind parts of what is heard to a row of letters; none where there are no parts."""
    letters = tuple((LETTERS[place], intents.Do("part", part)) for place, part in enumerate(parts))
    label = " ".join(letter.upper() for letter, _ in letters)
    return (Key(label, "hear a band alone, from the left", letters, shown=False),) if letters else ()


def list_setting_keys(corners_hz: tuple[float, ...]) -> tuple[Key, ...]:
    """Bind the settings of a compressor: up and down move the release, a row of letters takes a side-chain filter."""
    taken = tuple((LETTERS[place], intents.Do("corner", f"{hz:g}")) for place, hz in enumerate(corners_hz))
    label = " ".join(letter.upper() for letter, _ in taken)
    return (
        bind_versions(2),
        replace(CONTROL, does="longer, shorter release"),
        Key(label, "side-chain filter, from the left", taken),
        SPACE,
        ARROWS,
        ENTER,
        BACK,
        ALL_KEYS,
    )
