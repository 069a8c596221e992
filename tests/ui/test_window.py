"""The window as a person uses it, without a display."""

from __future__ import annotations

import os
from dataclasses import replace

import pygame
import pytest

from tests.ui import sample_views
from tests.ui.test_keymap import press
from trainer.errors import BadValue
from trainer.session.intents import AnswerPlaying, GiveAnswer, GoOn, Intent, Listen, Quit, StartDrill, ToggleKeys
from trainer.session.pages import View
from trainer.session.view import TrialView
from trainer.ui.window import Window


class Script:
    """A session that shows one view and writes down what is wanted."""

    def __init__(self, view: View) -> None:
        self.shown = view
        self.wanted: list[Intent] = []

    @property
    def finished(self) -> bool:
        """Tell whether an end was asked for."""
        return Quit() in self.wanted

    def view(self) -> View:
        """Give the view."""
        return self.shown

    def act(self, intent: Intent) -> None:
        """Write the intent down."""
        self.wanted.append(intent)

    def tick(self) -> None:
        """Do nothing."""


def opened(view: View) -> tuple[Window, Script]:
    """Open a window on a view."""
    script = Script(view)
    window = Window(script)
    window.open()
    window.refresh()
    return window, script


def click(window: Window, place: tuple[int, int]) -> None:
    """Move the mouse, press and release."""
    window.handle(pygame.event.Event(pygame.MOUSEMOTION, pos=place, rel=(0, 0), buttons=(0, 0, 0)))
    window.refresh()
    for kind in (pygame.MOUSEBUTTONDOWN, pygame.MOUSEBUTTONUP):
        window.handle(pygame.event.Event(kind, pos=place, button=1))
        window.refresh()


def test_each_offer_is_done_once_by_a_click() -> None:
    """Versions, answers and pills all give their intent to the mouse."""
    window, script = opened(sample_views.trial())
    for hit in list(window.hits):
        script.wanted.clear()
        click(window, hit.box.center)
        assert script.wanted == [hit.intent]
    assert {type(hit.intent) for hit in window.hits} >= {Listen, GiveAnswer, ToggleKeys, AnswerPlaying}


def test_a_press_that_slides_off_answers_nothing() -> None:
    """An answer is given on the release over the same button."""
    window, script = opened(sample_views.trial())
    answer = next(hit for hit in window.hits if hit.intent == GiveAnswer("1"))
    window.handle(pygame.event.Event(pygame.MOUSEBUTTONDOWN, pos=answer.box.center, button=1))
    window.handle(pygame.event.Event(pygame.MOUSEBUTTONUP, pos=(2, 2), button=1))
    assert script.wanted == []


def test_tab_goes_through_versions_then_answers() -> None:
    """The order of the page: beam first, answers after; Shift Tab goes back; Enter does what has the focus."""
    window, script = opened(sample_views.trial())
    expected = [Listen(1), Listen(2), Listen(3), GiveAnswer("1"), GiveAnswer("2"), GiveAnswer("3")]
    for intent in expected:
        window.handle(press(pygame.K_TAB))
        window.refresh()
        window.handle(press(pygame.K_RETURN))
        assert script.wanted[-1] == intent
    window.handle(press(pygame.K_TAB, pygame.KMOD_SHIFT))
    window.handle(press(pygame.K_SPACE))
    assert script.wanted[-1] == GiveAnswer("2")


def test_enter_means_the_view_until_tab_moves_the_focus() -> None:
    """Enter answers what is playing; Escape lets go of the focus before it leaves."""
    window, script = opened(sample_views.trial())
    window.handle(press(pygame.K_RETURN))
    window.handle(press(pygame.K_TAB))
    window.handle(press(pygame.K_ESCAPE))
    window.handle(press(pygame.K_RETURN))
    assert script.wanted == [AnswerPlaying(), AnswerPlaying()]


def test_focus_is_seen() -> None:
    """WCAG 2.2, 2.4.7: the focus shows; pixels around the first version change."""
    window, _ = opened(sample_views.trial())
    box = window.hits[0].box if window.hits[0].by_tab else next(h.box for h in window.hits if h.by_tab)
    before = pygame.image.tobytes(pygame.display.get_surface().subsurface(box.inflate(12, 12)), "RGB")
    window.handle(press(pygame.K_TAB))
    window.refresh()
    after = pygame.image.tobytes(pygame.display.get_surface().subsurface(box.inflate(12, 12)), "RGB")
    assert before != after


def test_reveal_offers_pictures_controls_in_order() -> None:
    """After the answer: versions, what changed, then the way on."""
    window, _ = opened(sample_views.reveal())
    intents = [hit.intent for hit in window.hits if hit.by_tab]
    assert intents[:3] == [Listen(1), Listen(2), Listen(3)] and intents[-1] == GoOn()


def test_plan_cards_start_their_drill() -> None:
    """A card of the plan can be clicked."""
    window, script = opened(sample_views.today())
    card = next(hit for hit in window.hits if hit.intent == StartDrill("limiting"))
    click(window, card.box.center)
    assert script.wanted == [StartDrill("limiting")]


def test_question_mark_without_a_key_of_its_own() -> None:
    """A TEXTINPUT alone opens the list; one that follows its key does not close it again."""
    window, script = opened(sample_views.trial())
    window.handle(pygame.event.Event(pygame.TEXTINPUT, text="?"))
    window.handle(press(pygame.K_SLASH, pygame.KMOD_SHIFT, "?", pygame.KSCAN_SLASH))
    window.handle(pygame.event.Event(pygame.TEXTINPUT, text="?"))
    assert script.wanted == [ToggleKeys(), ToggleKeys()]


def test_moving_the_playhead_gives_the_same_picture_as_drawing_anew() -> None:
    """The small redraw and the whole one agree in every pixel."""
    window, script = opened(sample_views.trial())
    for fraction in (0.43, 0.6, 0.1):
        assert isinstance(script.shown, TrialView)
        script.shown = replace(script.shown, sounding=replace(script.shown.sounding, fraction=fraction))
        window.refresh()
    moved = pygame.image.tobytes(pygame.display.get_surface(), "RGB")
    fresh, _ = opened(script.shown)
    assert fresh is not window
    assert pygame.image.tobytes(pygame.display.get_surface(), "RGB") == moved


def test_closing_asks_to_quit() -> None:
    """The window's own button is an intent like any other, and ends the loop when the session agrees."""
    script = Script(sample_views.trial())
    pygame.display.init()
    pygame.event.post(pygame.event.Event(pygame.QUIT))
    Window(script).run()
    assert script.wanted == [Quit()]


def test_no_display_is_told_in_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    """An unknown display ends with what to do instead of a traceback."""
    pygame.display.quit()
    monkeypatch.setitem(os.environ, "SDL_VIDEODRIVER", "none_such")
    monkeypatch.delenv("DISPLAY", raising=False)
    with pytest.raises(
        BadValue, match="window: display=none, expected a display; without one use evenhand drill --text"
    ):
        Window(Script(sample_views.trial())).open()
    assert not pygame.mixer.get_init()
