"""The window: opens a display, turns events into intents, draws what changed, and waits in between."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from typing import Protocol

import pygame

from trainer.errors import BadValue
from trainer.session.intents import DropFile, Intent, Listen, OnlyWhatChanged, Quit, SetText, TypeText
from trainer.session.pages import Entry, PageView, View
from trainer.session.view import DemonstrationView, RevealView, Sounding, TrialView
from trainer.ui.clipboard import read_line
from trainer.ui.icon import draw_icon
from trainer.ui.keymap import find_entry, find_intent, name_key
from trainer.ui.lettering import Lettering
from trainer.ui.pen import Hit, Pen, Wanted
from trainer.ui.pointer import Pointer
from trainer.ui.screens.view import draw_view
from trainer.ui.theme import DESIGN, Look, choose_theme
from trainer.ui.widgets.beam import draw_waiting
from trainer.ui.widgets.header import NAME
from trainer.ui.widgets.waveform import between, draw_bars

MOVING_MS = 33
FAR_DOWN = 100_000
STILL_MS = 250
LOOK_S = 0.008
# Who answers with Enter may press it once too often; the verdict that follows the last pick is to be read first.
TOO_SOON_S = 0.7
_REPEAT_MS = (400, 35)
_REPEATED = ("backspace", "ctrl backspace", "left", "right", "up", "down", "page up", "page down")


class Session(Protocol):
    """What the window shows and asks."""

    @property
    def finished(self) -> bool:
        """Tell whether the program ends."""
        ...

    def view(self) -> View:
        """Give what is shown now."""
        ...

    def act(self, intent: Intent) -> None:
        """Take what the person wants."""
        ...

    def tick(self) -> None:
        """Go on with what happens by itself."""
        ...


class Window:
    """Show a session in a window until it is finished.

    Parameters
    ----------
    session : Session
        What is shown and asked.
    size : tuple of int
        Width and height wished, in pixels; no more than the desktop has.
    """

    def __init__(self, session: Session, size: tuple[int, int] = DESIGN) -> None:
        self._session = session
        self._size = size
        self._lettering = Lettering()
        self._pointer = Pointer()
        self._pen: Pen | None = None
        self._shown: View | None = None
        self._fraction = -1.0
        self._stale = True
        self._pressed: Intent | None = None
        self._said = ""
        self._held: int | None = None
        self._follows: Wanted | None = None
        self._chosen_at: int | None = None
        self._rests_until_s = 0.0

    def run(self, once_shown: Callable[[], object] = lambda: None) -> None:
        """Open the window, serve it, and close it.

        Parameters
        ----------
        once_shown : callable
            Called when the first picture is on the screen: what can wait until then.

        Raises
        ------
        BadValue
            No display can be opened.
        """
        self.open()
        try:
            self.refresh()
            once_shown()
            while not self._session.finished:
                self.serve(MOVING_MS if self._moving() else STILL_MS)
        finally:
            self.close()

    def open(self) -> None:
        """Open the display; neither the mixer nor any other part of pygame is started."""
        try:
            pygame.display.init()
            pygame.font.init()
            _refuse_unseen(pygame.display.get_driver())
            _prefer_shared_memory(pygame.display.get_driver())
            desktop = pygame.display.get_desktop_sizes()[0]
            size = (min(self._size[0], round(desktop[0] * 0.95)), min(self._size[1], round(desktop[1] * 0.9)))
            pygame.display.set_icon(draw_icon(64))
            pygame.display.set_mode(size, pygame.RESIZABLE)
        except pygame.error as problem:
            raise _no_display() from problem
        pygame.display.set_caption(NAME)
        pygame.display.set_allow_screensaver(True)
        pygame.key.set_repeat(0)
        pygame.event.set_blocked((pygame.JOYAXISMOTION, pygame.FINGERMOTION))

    def close(self) -> None:
        """Close the display."""
        pygame.font.quit()
        pygame.display.quit()

    def serve(self, timeout_ms: int) -> None:
        """Wait for events up to a time, act on them, let the session go on, and draw what changed."""
        for event in self._await_events(timeout_ms):
            self.handle(event)
        self._session.tick()
        self.refresh()

    def handle(self, event: pygame.event.Event) -> None:
        """Act on one event."""
        if event.type == pygame.QUIT:
            self._session.act(Quit())
        elif event.type == pygame.KEYDOWN:
            self._press_key(event)
        elif event.type == pygame.TEXTINPUT:
            self._take_text(event.text)
        elif event.type in (pygame.KEYUP, pygame.WINDOWFOCUSLOST):
            self._held, self._said = None, ""
        elif event.type == pygame.DROPFILE:
            self._session.act(DropFile(event.file))
        elif event.type in (pygame.MOUSEMOTION, pygame.MOUSEBUTTONDOWN, pygame.MOUSEBUTTONUP):
            self._take_mouse(event)
        elif event.type == pygame.MOUSEWHEEL:
            self._scroll_by(-event.y * 60)
        elif event.type == pygame.WINDOWLEAVE:
            self._point(None)
        elif event.type in (pygame.VIDEORESIZE, pygame.WINDOWSIZECHANGED, pygame.WINDOWEXPOSED):
            self._stale = True

    def refresh(self) -> None:
        """Draw the whole view if it changed, otherwise only what moves on it."""
        view = self._session.view()
        still = _without_position(view)
        if self._stale or still != self._shown:
            self._draw(view)
            self._shown, self._stale = still, False
        elif not view.frame.keys_open:
            self._move(view)

    @property
    def hits(self) -> list[Hit]:
        """Give the offers of the page that is shown."""
        return self._pen.hits if self._pen else []

    def _await_events(self, timeout_ms: int) -> list[pygame.event.Event]:
        """Wait for events; pygame's own waiting looks a thousand times a second, too often for a window left open."""
        if self._moving():
            return [pygame.event.wait(timeout_ms), *pygame.event.get()]
        until_s = time.monotonic() + timeout_ms / 1000
        while not (events := pygame.event.get()) and time.monotonic() < until_s:
            time.sleep(LOOK_S)
        return events

    def _moving(self) -> bool:
        sounding = getattr(self._shown, "sounding", None)
        return getattr(self._shown, "busy", False) or (sounding is not None and sounding.playing)

    def _draw(self, view: View) -> None:
        """Draw the whole window."""
        surface = pygame.display.get_surface()
        frame = view.frame
        turned = self._pointer.turn_to(view)
        if isinstance(self._shown, TrialView) and isinstance(view, PageView):
            self._rests_until_s = time.monotonic() + TOO_SOON_S
        if _shows_receipt(view) and not _shows_receipt(self._shown):
            self._follows = "chosen"
        look = choose_theme(frame.theme, surface.get_size(), frame.text_percent)
        self._pen = self._draw_page(view, look)
        wanted, at = self._follows, self._pen.find_on_page("chosen")
        still = wanted == "chosen" and (turned or at == self._chosen_at)
        self._follows, self._chosen_at = None, at
        if wanted and not still and self._pen.scroll_to(wanted) != self._pen.scroll:
            self._pointer.scroll = self._pen.scroll_to(wanted)
            self._pen = self._draw_page(view, look)
        pygame.key.set_repeat(*(_REPEAT_MS if find_entry(view) is not None else (0,)))
        if self._pen.waiting is not None and not frame.keys_open:
            draw_waiting(surface, look, self._pen.waiting, time.monotonic())
        self._fraction = _fraction(view)
        pygame.display.flip()

    def _draw_page(self, view: View, look: Look) -> Pen:
        """Draw the view with a new pen, scrolled as far as it goes."""
        at = self._pointer
        pen = Pen(pygame.display.get_surface(), look, self._lettering, at.at, at.focus, at.scroll)
        draw_view(pen, view)
        at.scroll = pen.scroll if pen.scroll_most else 0
        return pen

    def _move(self, view: View) -> None:
        """Draw the playhead, or the balance that rocks, where it is now."""
        pen = self._pen
        sounding, waveform = getattr(view, "sounding", None), getattr(view, "waveform", None)
        if pen is None:
            return
        if sounding is not None and waveform is not None and pen.wave and sounding.fraction != self._fraction:
            changed = between(pen.wave, self._fraction, sounding.fraction, pen.px(4))
            self._fraction = sounding.fraction
            changed = changed.clip(pen.wave if pen.wave_seen is None else pen.wave_seen)
            if changed.width and changed.height:
                with pen.within(changed):
                    draw_bars(pen.surface, pen.look, waveform, sounding, pen.wave, pen.wave_on)
                pygame.display.update(changed)
        elif pen.waiting is not None and getattr(view, "busy", False):
            pen.surface.fill(pen.look.shape("ground"), pen.waiting)
            draw_waiting(pen.surface, pen.look, pen.waiting, time.monotonic())
            pygame.display.update(pen.waiting)

    def _press_key(self, event: pygame.event.Event) -> None:
        """Do what a key means; what it writes as well is then no text."""
        name, again = name_key(event), event.key == self._held
        self._held = event.key
        if again and name not in _REPEATED and find_entry(self._session.view()) is not None:
            return
        if name == "return" and time.monotonic() < self._rests_until_s:
            return
        self._said = getattr(event, "unicode", "") if self._use_key(name, bool(event.mod & pygame.KMOD_SHIFT)) else ""

    def _use_key(self, name: str, shift: bool) -> bool:
        """Move the focus, do what has it, do what the key means, or scroll; tell whether something was done."""
        view = self._session.view()
        intent = None if shift and name == "tab" else find_intent(view, name)
        if name == "tab" and intent is None:
            first = self._pen.first_stop if self._pen else 0
            self._pointer.move_focus(self.hits, -1 if shift else 1, first)
            self._stale, self._follows = True, "focus"
            return True
        if intent is None and self._move_in_list(find_entry(view), name):
            return True
        if self._pointer.focus is not None and name:
            chosen = self._pointer.focused(self.hits)
            if name in ("return", "space") and chosen is not None:
                self._choose(chosen)
                return True
            self._pointer.focus, self._stale = None, True
            if name == "escape":
                return True
        if name == "ctrl v" and find_entry(view) is not None:
            self._take_text(read_line())
            return True
        if intent is not None:
            self._session.act(intent)
            self._follows = "chosen"
        elif not view.frame.keys_open:
            self._scroll_with(name)
        return intent is not None

    def _move_in_list(self, entry: Entry | None, name: str) -> bool:
        """Move along what a line may be completed to, or go up a folder; tell whether a key meant that."""
        if entry is None or name not in ("up", "down", "left"):
            return False
        if name == "left":
            if entry.way_up is not None:
                self._choose(entry.way_up.intent)
            return entry.way_up is not None
        inside = self._pointer.focus is None and len(entry.offers) > 1
        offers = [offer.intent for offer in entry.offers if not (inside and offer is entry.way_up)]
        moved = self._pointer.move_among(self.hits, offers, 1 if name == "down" else -1)
        if moved:
            self._stale, self._follows = True, "focus"
        return moved

    def _choose(self, intent: Intent) -> None:
        """Do what has the focus; where that was a folder, the focus goes to the first thing in it."""
        self._session.act(intent)
        if not isinstance(intent, SetText):
            return
        self._pointer.focus, self._stale = None, True
        entry = find_entry(self._session.view())
        if entry is None or entry.way_up is None or not intent.text.endswith(("/", "\\")):
            return
        self.refresh()
        inside = [offer.intent for offer in entry.offers if offer is not entry.way_up]
        if self._pointer.move_among(self.hits, inside, 1):
            self._stale, self._follows = True, "focus"

    def _take_text(self, text: str) -> None:
        """Take what is typed where a line takes it; elsewhere a question mark that came without a key of its own."""
        view = self._session.view()
        if not text or text == self._said:
            return
        if find_entry(view) is not None:
            if text.isprintable():
                self._session.act(TypeText(text))
                self._pointer.focus, self._stale, self._follows = None, True, "line"
        elif text == "?" and (intent := find_intent(view, "question")) is not None:
            self._session.act(intent)

    def _take_mouse(self, event: pygame.event.Event) -> None:
        """Follow the mouse; versions sound on the press, all else waits for the release over the offer."""
        self._point(event.pos)
        hit = self._pointer.find(self.hits)
        if event.type == pygame.MOUSEMOTION or event.button != 1:
            return
        intent = hit.intent if hit else None
        at_once = isinstance(intent, (Listen, OnlyWhatChanged))
        if event.type == pygame.MOUSEBUTTONDOWN:
            self._pressed = intent
            self._pointer.focus, self._stale = None, True
        if intent is not None and intent == self._pressed and at_once == (event.type == pygame.MOUSEBUTTONDOWN):
            self._session.act(intent)

    def _point(self, at: tuple[int, int] | None) -> None:
        """Move the pointer; what it touches is drawn anew only when that changes."""
        before = self._pointer.find(self.hits)
        self._pointer.at = at
        after = self._pointer.find(self.hits)
        if before is not after:
            self._stale = True
            with suppress(pygame.error):  # some drivers have one cursor only
                pygame.mouse.set_cursor(pygame.SYSTEM_CURSOR_HAND if after else pygame.SYSTEM_CURSOR_ARROW)

    def _scroll_with(self, name: str) -> None:
        """Scroll with the keys for it."""
        page = int(0.5 * pygame.display.get_surface().get_height())
        steps = {"page up": -page, "page down": page, "up": -60, "down": 60, "home": -FAR_DOWN, "end": FAR_DOWN}
        if name in steps:
            self._scroll_by(steps[name])

    def _scroll_by(self, pixels: int) -> None:
        """Scroll a page that does not fit."""
        most = self._pen.scroll_most if self._pen else 0
        moved = min(max(self._pointer.scroll + pixels, 0), most)
        if moved != self._pointer.scroll:
            self._pointer.scroll, self._stale = moved, True


def _refuse_unseen(driver: str) -> None:
    """Refuse a driver that nobody can see, which is taken without a display, unless it was asked for."""
    if driver == "offscreen" and os.environ.get("SDL_VIDEODRIVER", "") != driver:
        pygame.display.quit()
        raise _no_display()


def _prefer_shared_memory(driver: str) -> None:
    """Hand X the changed pixels alone; through a texture every small change would send the whole window."""
    if driver == "x11":
        os.environ.setdefault("SDL_FRAMEBUFFER_ACCELERATION", "0")


def _no_display() -> BadValue:
    expected = "a display; without one use evenhand drill --text"
    return BadValue("window", "display", os.environ.get("DISPLAY") or "none", expected)


def _without_position(view: View) -> View:
    """Give the view as if the loop stood at its start, to see whether anything else changed."""
    if isinstance(view, PageView):
        return replace(view, sounding=replace(view.sounding, fraction=0.0)) if view.sounding else view
    if isinstance(view, (DemonstrationView, TrialView, RevealView)):
        return replace(view, sounding=replace(view.sounding, fraction=0.0))
    return view


def _fraction(view: View) -> float:
    sounding: Sounding | None = getattr(view, "sounding", None)
    return sounding.fraction if sounding else 0.0


def _shows_receipt(view: View | None) -> bool:
    """Tell whether a receipt is open, which on a small window lies below the fold."""
    return isinstance(view, RevealView) and view.receipt_open
