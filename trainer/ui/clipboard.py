"""What was copied elsewhere, as a line of text."""

from __future__ import annotations

import pygame

_DRIVERS = ("x11", "windows", "cocoa")
_KINDS = ("text/plain;charset=utf-8", "UTF8_STRING", pygame.SCRAP_TEXT)


def can_paste() -> bool:
    """Tell whether the display has a clipboard that pygame can read."""
    return pygame.display.get_init() and pygame.display.get_driver() in _DRIVERS


def read_line() -> str:
    """Read the first line of what was copied; empty where there is none."""
    if not can_paste():
        return ""
    try:
        if not pygame.scrap.get_init():
            pygame.scrap.init()
        found = next(filter(None, (pygame.scrap.get(kind) for kind in _KINDS)), b"")
    except (pygame.error, NotImplementedError):  # some builds of pygame come without it
        return ""
    return first_line(found)


def first_line(copied: bytes) -> str:
    """Give the first line that is not empty, without what cannot be printed."""
    text = copied.decode("utf-8", errors="ignore")
    lines = ("".join(sign for sign in line if sign.isprintable()).strip() for line in text.splitlines())
    return next(filter(None, lines), "")
