"""From keys to intents."""

from __future__ import annotations

import pygame
import pytest

from tests.ui import sample_views
from trainer.session.intents import (
    AnswerPlaying,
    ChangeTextSize,
    ChangeTheme,
    GoBack,
    Intent,
    Listen,
    ListenOther,
    ToggleKeys,
    ToggleSound,
)
from trainer.ui.keymap import find_intent, name_key


def press(key: int, mod: int = 0, unicode: str = "", scancode: int = 0) -> pygame.event.Event:
    """Make a key event."""
    return pygame.event.Event(pygame.KEYDOWN, key=key, mod=mod, unicode=unicode, scancode=scancode)


@pytest.mark.parametrize(
    ("event", "name"),
    [
        (press(pygame.K_1, unicode="1", scancode=pygame.KSCAN_1), "1"),
        (press(pygame.K_AMPERSAND, unicode="&", scancode=pygame.KSCAN_1), "1"),
        (press(224, unicode="à", scancode=pygame.KSCAN_0), "0"),
        (press(pygame.K_KP3, unicode="3"), "3"),
        (press(pygame.K_KP0), "0"),
        (press(pygame.K_KP_ENTER), "return"),
        (press(pygame.K_SLASH, pygame.KMOD_SHIFT, "?", pygame.KSCAN_SLASH), "question"),
        (press(223, pygame.KMOD_SHIFT, "?", pygame.KSCAN_MINUS), "question"),
        (press(pygame.K_d, unicode="d", scancode=pygame.KSCAN_D), "d"),
        (press(1074, unicode="в", scancode=pygame.KSCAN_D), "d"),
        (press(pygame.K_F1), "f1"),
        (press(pygame.K_EQUALS, pygame.KMOD_CTRL), "ctrl plus"),
        (press(pygame.K_KP_MINUS, pygame.KMOD_META), "ctrl minus"),
        (press(pygame.K_0, pygame.KMOD_CTRL, scancode=pygame.KSCAN_0), "ctrl 0"),
        (press(pygame.K_t, pygame.KMOD_CTRL), "ctrl t"),
        (press(1074, pygame.KMOD_META, scancode=pygame.KSCAN_D), "ctrl d"),
        (press(pygame.K_BACKSPACE, pygame.KMOD_CTRL), "ctrl backspace"),
        (press(pygame.K_q, pygame.KMOD_CTRL | pygame.KMOD_ALT, "@"), ""),
        (press(pygame.K_CAPSLOCK, pygame.KMOD_CTRL), ""),
        (press(pygame.K_d, pygame.KMOD_ALT, "d"), ""),
    ],
)
def test_keys_have_names_on_any_layout(event: pygame.event.Event, name: str) -> None:
    """Digits of the French row, ``?`` of the German layout, letters of a Cyrillic one (USB HID usages, from memory)."""
    assert name_key(event) == name


@pytest.mark.parametrize(
    ("name", "intent"),
    [
        ("2", Listen(2)),
        ("return", AnswerPlaying()),
        ("space", ToggleSound()),
        ("left", ListenOther(-1)),
        ("escape", GoBack()),
        ("question", ToggleKeys()),
        ("f1", ToggleKeys()),
        ("ctrl t", ChangeTheme()),
        ("t", None),
        ("ctrl plus", ChangeTextSize(1)),
        ("ctrl 0", ChangeTextSize(0)),
        ("9", None),
        ("", None),
    ],
)
def test_names_have_the_meaning_of_the_view(name: str, intent: Intent | None) -> None:
    """The view's bindings first, then those of the window."""
    assert find_intent(sample_views.trial(), name) == intent


def test_list_of_keys_takes_no_answers() -> None:
    """While the list covers the question, keys close it and nothing else is done behind it."""
    view = sample_views.restyle(sample_views.trial(), keys_open=True)
    assert find_intent(view, "escape") == ToggleKeys()
    assert find_intent(view, "return") == ToggleKeys()
    assert find_intent(view, "2") is None
    assert find_intent(view, "ctrl t") == ChangeTheme()
