"""The line that is typed on a page: added to, completed, erased."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from trainer.ports import FileKind
from trainer.session import intents
from trainer.session.intents import Intent
from trainer.session.state import State
from trainer.session.view import Button
from trainer.session.world import World

LONGEST_LINE = 1000
LAST_FOLDER = "last_folder"
_SEPARATORS = ("/", "\\")


def act_on_line(
    state: State, intent: Intent, world: World, paths: bool = False, kind: FileKind = "sound"
) -> State | None:
    """Change the typed line; None where the intent is about something else.

    Parameters
    ----------
    state, intent, world
        As for every place.
    paths : bool
        Whether the line is a path, which can be completed.
    kind : {"sound", "history"}
        Of the files it is completed to.
    """
    if isinstance(intent, intents.TypeText):
        kept = "".join(character for character in intent.text if character.isprintable())
        return replace(state, typed=(state.typed + kept)[:LONGEST_LINE])
    if isinstance(intent, intents.SetText):
        if paths and not intent.text.endswith(_SEPARATORS):
            world.store.write_setting(LAST_FOLDER, find_folder(intent.text))
        return replace(state, typed=intent.text[:LONGEST_LINE])
    if isinstance(intent, intents.EraseText):
        return replace(state, typed="" if intent.whole else state.typed[:-1])
    if isinstance(intent, intents.CompleteText) and paths:
        common = begin_alike(world.files.complete(state.typed, kind))
        return replace(state, typed=common or state.typed)
    return None


def offer_paths(state: State, world: World, kind: FileKind = "sound") -> tuple[Button, ...]:
    """Offer what a typed path may be completed to, and the folder above; where nothing is typed, where to begin."""
    if not state.typed:
        return _offer_beginnings(world)
    typed, found = state.typed, world.files.complete(state.typed, kind)
    whole = typed.endswith(_SEPARATORS) or typed in found
    above = find_folder(typed.rstrip("/\\")) if whole else ""
    way = (Button(f"Up to {_name_folder(above, world)}", intents.SetText(above)),) if above else ()
    return (*way, *(Button(_shorten(path), intents.SetText(path)) for path in found if path != typed))


def find_folder(path: str) -> str:
    """Give the folder of a path with its separator at the end; nothing where none is named."""
    return path[: max(path.rfind(each) for each in _SEPARATORS) + 1]


def _offer_beginnings(world: World) -> tuple[Button, ...]:
    """Offer the folder of the file that was chosen last, and the folders that music may be in."""
    last = world.store.read_setting(LAST_FOLDER, "")
    folders = [path for path in (last, *world.files.complete("")) if path.endswith(_SEPARATORS)]
    return tuple(
        Button(f"Look in {_name_folder(path, world)}", intents.SetText(path)) for path in dict.fromkeys(folders)
    )


def begin_alike(texts: Sequence[str]) -> str:
    """Give the beginning that texts share."""
    if not texts:
        return ""
    first, last = min(texts), max(texts)
    same = next((place for place, pair in enumerate(zip(first, last, strict=False)) if pair[0] != pair[1]), None)
    return first[:same] if same is not None else min(first, last, key=len)


def _shorten(path: str) -> str:
    """Name a path by its last part."""
    return path.rstrip("/\\").replace("\\", "/").rsplit("/", 1)[-1] + ("/" if path.endswith(_SEPARATORS) else "")


def _name_folder(path: str, world: World) -> str:
    """Name a folder as a person knows it, without its separator, but for the uppermost one, which is nothing else."""
    return world.files.name(path.rstrip("/\\").replace("\\", "/")) or path
