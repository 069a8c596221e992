"""From a key event to its name, and from the name to what a view, or else the window, means by it."""

from __future__ import annotations

from dataclasses import replace

import pygame

from trainer.session.intents import CompleteText, EraseText, Intent, ToggleKeys
from trainer.session.pages import Entry, PageView, View
from trainer.session.view import Frame, Key
from trainer.ui.clipboard import can_paste
from trainer.ui.widgets.keylist import EVERYWHERE

_DIGITS = "1234567890"
_COMMAND = pygame.KMOD_CTRL | pygame.KMOD_META
_NAMES = {
    pygame.K_RETURN: "return",
    pygame.K_KP_ENTER: "return",
    pygame.K_SPACE: "space",
    pygame.K_ESCAPE: "escape",
    pygame.K_TAB: "tab",
    pygame.K_BACKSPACE: "backspace",
    pygame.K_DELETE: "delete",
    pygame.K_LEFT: "left",
    pygame.K_RIGHT: "right",
    pygame.K_UP: "up",
    pygame.K_DOWN: "down",
    pygame.K_PAGEUP: "page up",
    pygame.K_PAGEDOWN: "page down",
    pygame.K_HOME: "home",
    pygame.K_END: "end",
    pygame.K_QUESTION: "question",
}
_PLUS = (pygame.K_PLUS, pygame.K_EQUALS, pygame.K_KP_PLUS)
_MINUS = (pygame.K_MINUS, pygame.K_UNDERSCORE, pygame.K_KP_MINUS)
_CLOSING = ("escape", "question", "f1", "return", "space")
_WITH_LIST_OPEN = ("ctrl plus", "ctrl minus", "ctrl 0", "ctrl t")
_LABELS = {"return": "Enter", "escape": "Esc"}
_ERASING = (
    Key("Backspace", "take the last letter away", (("backspace", EraseText()),), False),
    Key("Ctrl Backspace", "take the whole line away", (("ctrl backspace", EraseText(whole=True)),), False),
)
_PASTING = Key("Ctrl V", "add what was copied", (), False)
_COMPLETING = Key(
    "Tab", "complete the line; Shift Tab moves the focus, Enter does what has it", (("tab", CompleteText()),), False
)
_CHOOSING = Key("↓ ↑", "choose", (), False)
_GOING_UP = Key("←", "up one folder", (), False)


def name_key(event: pygame.event.Event) -> str:
    """Name a pressed key.

    Digits go by their place on the keyboard, as some layouts need Shift for them; letters go by the layout,
    and by their place where the layout has no Latin letters; ``?`` is whatever key writes it.

    Parameters
    ----------
    event : pygame.event.Event
        A KEYDOWN.

    Returns
    -------
    str
        ``1``, ``d``, ``return``, ``question``, ``ctrl plus`` ...; empty for keys that mean nothing here.
    """
    if event.mod & _COMMAND:
        return "" if event.mod & pygame.KMOD_ALT else _name_command(event)
    if getattr(event, "unicode", "") == "?":
        return "question"
    if event.mod & pygame.KMOD_ALT:
        return ""
    if event.key in _NAMES:
        return _NAMES[event.key]
    if pygame.K_F1 <= event.key <= pygame.K_F12:
        return f"f{event.key - pygame.K_F1 + 1}"
    return _digit(event) or _letter(event)


def find_intent(view: View, name: str) -> Intent | None:
    """Find what a key means now: for the list of keys while it is open, for the view, else for the window."""
    if not name:
        return None
    if view.frame.keys_open:
        if name in _CLOSING:
            return ToggleKeys()
        if name not in _WITH_LIST_OPEN:
            return None
    entry = find_entry(view)
    if entry is not None and writes(name):
        return None
    typing = _list_typing(entry) if entry is not None else ()
    for key in (*typing, *view.frame.keys, *EVERYWHERE):
        for bound, intent in key.bindings:
            if bound == name:
                return intent
    return None


def find_entry(view: View) -> Entry | None:
    """Find the line that takes what is typed; none does while the list of keys covers it."""
    return view.entry if isinstance(view, PageView) and not view.frame.keys_open else None


def writes(name: str) -> bool:
    """Tell whether a key writes something, and so means nothing else while a line is typed."""
    return len(name) == 1 or name in ("space", "question")


def show_live_keys(view: PageView) -> Frame:
    """Give the frame with the keys that work beside a line that is typed, and with those of the line itself."""
    if view.entry is None:
        return view.frame
    live = []
    for key in view.frame.keys:
        names = [name for name, _ in key.bindings if not writes(name)]
        if len(names) == len(key.bindings):
            live.append(key)
        elif names:
            live.append(replace(key, label=" ".join(_LABELS.get(name, name.capitalize()) for name in names)))
    return replace(view.frame, keys=(*live, *_list_typing(view.entry)))


def _list_typing(entry: Entry) -> tuple[Key, ...]:
    """List the keys of a line that is typed."""
    keys = (*_ERASING, _PASTING) if can_paste() else _ERASING
    if not entry.offers:
        return keys
    return (*keys, _COMPLETING, _CHOOSING, *((_GOING_UP,) if entry.way_up is not None else ()))


def _name_command(event: pygame.event.Event) -> str:
    """Name a key held with Ctrl, or with Cmd on a Mac; with Alt too it writes a letter on many keyboards."""
    if event.key in _PLUS:
        return "ctrl plus"
    if event.key in _MINUS:
        return "ctrl minus"
    plain = _NAMES.get(event.key) or _digit(event) or _letter(event)
    return f"ctrl {plain}" if plain else ""


def _digit(event: pygame.event.Event) -> str:
    """Give the digit of a key in the row of digits or on the number pad."""
    if pygame.K_KP1 <= event.key <= pygame.K_KP9:
        return str(event.key - pygame.K_KP1 + 1)
    if event.key == pygame.K_KP0:
        return "0"
    scancode = getattr(event, "scancode", 0)
    if pygame.KSCAN_1 <= scancode <= pygame.KSCAN_0:
        return _DIGITS[scancode - pygame.KSCAN_1]
    if not scancode and pygame.K_0 <= event.key <= pygame.K_9:
        return chr(event.key)
    return ""


def _letter(event: pygame.event.Event) -> str:
    """Give the Latin letter of a key."""
    if pygame.K_a <= event.key <= pygame.K_z:
        return chr(event.key)
    scancode = getattr(event, "scancode", 0)
    if event.key > 127 and pygame.KSCAN_A <= scancode <= pygame.KSCAN_Z:
        return chr(ord("a") + scancode - pygame.KSCAN_A)
    return ""
