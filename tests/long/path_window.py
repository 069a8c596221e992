"""The window, led by a simulated person: the real event loop on SDL's dummy driver, keys and mouse posted to it."""

from __future__ import annotations

import os
from pathlib import Path
from unittest.mock import patch

os.environ["SDL_VIDEODRIVER"] = "dummy"
os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")

import pygame

from tests.long.path_person import Act, Answer, EndPass, Hear, HeardPlayer, Mark, Person, Shown, Take, WayLost, Write
from trainer.app.world import Conditions, DrillWish, build_world
from trainer.session.intents import GoTo, Intent, MarkNow
from trainer.session.pages import Choices, Items, PageView, Stages, View
from trainer.session.screens import Program
from trainer.session.view import Button, TrialView
from trainer.ui import window
from trainer.ui.keymap import find_entry
from trainer.ui.window import Window

SIZE = (1280, 800)
KEYS = {"return": pygame.K_RETURN, "tab": pygame.K_TAB, "home": pygame.K_HOME, "escape": pygame.K_ESCAPE}
# A pass is followed by leaps of so long; what stands lower is scrolled to, so often at most.
LEAP_S = 2.0
MOST_SCROLLS, MOST_WAITS = 80, 200
# What the window says on every way.
USUAL = ("Finished.", "No sound:", "This was asked today")
# No event may come for so long; 0 would wait for ever.
SERVE_MS = 1
# This person reads a verdict in no time; the window makes others wait before Enter acts on it.
window.TOO_SOON_S = 0.0


class LedWindow:
    """Lead the real window by events alone.

    Parameters
    ----------
    program : Program
        The real program in a world whose player is silent.
    player : HeardPlayer
        Its clock is moved on by hand.
    """

    def __init__(self, program: Program, player: HeardPlayer) -> None:
        self._program, self._player = program, player
        self._window = Window(program, SIZE)
        self._keyboard = False
        self.notices: list[str] = []

    def open(self, mix: Path) -> None:
        """Open the window, read the cautions, go to the mixes, and type where the mix lies."""
        self._window.open()
        self._window.refresh()
        self._press("return")
        self._choose(GoTo("mixes"))
        self.do(Write(str(mix)))

    def close(self) -> None:
        """Close the window."""
        self._window.close()

    def read(self) -> Shown:
        """Give what is shown now."""
        view = self._program.view()
        if isinstance(view, TrialView):
            return Shown(question=view.question)
        if not isinstance(view, PageView):
            return Shown((type(view).__name__,))
        steps = {button.label for part in view.list_parts() if isinstance(part, Stages) for button in part.steps}
        offers = tuple(button.label for button in list_buttons(view) if button.label not in steps)
        return Shown((view.headline, view.sentence, view.frame.notice), offers)

    def do(self, act: Act) -> None:
        """Do an act with keys and mouse, and wait for what comes of it."""
        view = self._program.view()
        if isinstance(act, Take):
            self._choose(find_button(view, act.label).intent)
        elif isinstance(act, Write):
            self._post(pygame.event.Event(pygame.TEXTINPUT, text=act.text))
            self._press("return")
        elif isinstance(act, Hear):
            self._press(str(act.number))
        elif isinstance(act, Answer):
            self._answer(view, act.number)
        elif isinstance(act, Mark):
            self._mark(act)
        else:
            assert isinstance(act, EndPass)
            self._hear_to_the_end()
        self._settle()

    def _answer(self, view: View, number: int) -> None:
        """Prefer what is playing, or say which one X is."""
        if isinstance(view, TrialView) and len(view.versions) == 3:
            self._press("qw"[number - 1])
        else:
            self._press(str(number))
            self._press("return")

    def _mark(self, act: Mark) -> None:
        """Hear a pass as far as a moment, and press the key for what is heard there."""
        while self._player.position().frame < act.at_s * self._player.output.rate_hz:
            self._pass_time(0.2)
        bindings = [pair for key in self._program.view().frame.keys for pair in key.bindings]
        self._press(next(name for name, meant in bindings if meant == MarkNow(act.kind)))

    def _hear_to_the_end(self) -> None:
        """Hear a pass until the program ends it by itself."""
        for _ in range(MOST_WAITS):
            if "End the pass" not in self.read().offers:
                return
            self._pass_time(LEAP_S)
        raise WayLost("the pass does not end")

    def _pass_time(self, seconds: float) -> None:
        """Let the player's clock go on."""
        self._player.clock_s += seconds
        self._window.serve(SERVE_MS)

    def _choose(self, intent: Intent) -> None:
        """Choose an offer, by the mouse and by the keyboard in turn."""
        self._keyboard = not self._keyboard
        if self._keyboard and find_entry(self._program.view()) is None and self._tab_to(intent):
            self._press("return")
        else:
            self._click(intent)

    def _tab_to(self, intent: Intent) -> bool:
        """Move the focus to an offer; tell whether it was found."""
        for _ in self._window.hits:
            self._press("tab")
            if self._window._pointer.focused(self._window.hits) == intent:
                return True
        return False

    def _click(self, intent: Intent) -> None:
        """Scroll to an offer and click on it."""
        self._press("home")
        for _ in range(MOST_SCROLLS):
            boxes = [hit.box for hit in self._window.hits if hit.intent == intent and min(hit.box.size) > 8]
            if boxes:
                at = boxes[0].center
                self._post(pygame.event.Event(pygame.MOUSEMOTION, pos=at, rel=(0, 0), buttons=(0, 0, 0)))
                self._post(pygame.event.Event(pygame.MOUSEBUTTONDOWN, pos=at, button=1))
                self._post(pygame.event.Event(pygame.MOUSEBUTTONUP, pos=at, button=1))
                return
            self._post(pygame.event.Event(pygame.MOUSEWHEEL, x=0, y=-1))
        raise WayLost(f"{intent} cannot be clicked")

    def _press(self, name: str) -> None:
        """Press a key and let it go."""
        key = KEYS.get(name) or ord(name)
        letter = name if len(name) == 1 else ""
        self._post(pygame.event.Event(pygame.KEYDOWN, key=key, mod=0, unicode=letter, scancode=0))
        self._post(pygame.event.Event(pygame.KEYUP, key=key, mod=0, unicode=letter, scancode=0))

    def _post(self, event: pygame.event.Event) -> None:
        """Post an event, and let the window serve it."""
        pygame.event.post(event)
        self._window.serve(SERVE_MS)
        notice = self._program.view().frame.notice
        if notice and (not self.notices or self.notices[-1] != notice):
            self.notices.append(notice)

    def _settle(self) -> None:
        """Serve until no work is under way."""
        for _ in range(MOST_WAITS):
            if not getattr(self._program.view(), "busy", False):
                return
            self._window.serve(SERVE_MS)
        raise WayLost("the work does not end")


def list_buttons(view: View) -> list[Button]:
    """List what a page offers, with the note that an item bears."""
    found: list[Button] = []
    for part in view.list_parts() if isinstance(view, PageView) else ():
        if isinstance(part, Choices):
            found += part.buttons
        elif isinstance(part, Items):
            found += [Button("; ".join(filter(None, (item.title, item.note))), item.intent) for item in part.items]
        elif isinstance(part, Stages):
            found += part.steps
    return found


def find_button(view: View, label: str) -> Button:
    """Find an offer by its words."""
    found = next((button for button in list_buttons(view) if button.label == label), None)
    if found is None:
        raise WayLost(f"{label} is not offered; there is {', '.join(each.label for each in list_buttons(view))}")
    return found


def lead_window(person: Person, mix: Path, data: Path) -> Path:
    """Lead a mix through the window; gives the path of its sheet.

    Raises
    ------
    WayLost
        If something that the person looks for does not come.
    """
    conditions = Conditions(str(data), None)
    with (
        patch("trainer.app.world.open_player", lambda rate_hz, silent=False: person.player),
        build_world(conditions, DrillWish(silent=True), in_process=True) as world,
    ):
        program = Program(world)
        window = LedWindow(program, person.player)
        window.open(mix)
        try:
            for act in person.lead(window):
                window.do(act)
        except WayLost as lost:
            raise WayLost(f"{lost}; said: {' / '.join(window.notices)}") from None
        finally:
            window.close()
        person.odd += [notice for notice in window.notices if not notice.startswith(USUAL)]
        sheet = program.state.mix.sheet
        if sheet is None:
            raise WayLost("no sheet is open at the end")
        return Path(world.projects.find_sheet(sheet.project))
