"""Typing, completing and dropping, by events as they come from the system."""

from __future__ import annotations

from dataclasses import replace

import pygame
import pytest

from tests.ui import sample_pages, sample_views
from tests.ui.test_keymap import press
from tests.ui.test_window import Script, opened
from trainer.session.intents import (
    ChangeTheme,
    CompleteText,
    Do,
    DropFile,
    EraseText,
    GoBack,
    GoOn,
    Intent,
    SetText,
    ToggleKeys,
    TypeText,
)
from trainer.session.pages import Choices, Entry, Items, PageView
from trainer.session.view import Button, Key
from trainer.ui.clipboard import first_line
from trainer.ui.keymap import find_intent, show_live_keys
from trainer.ui.window import Window

COMMAND = [pygame.KMOD_CTRL, pygame.KMOD_META]


def serve(window: Window, *events: pygame.event.Event) -> None:
    """Put events in the queue and let the window take them from there."""
    pygame.event.clear()
    for event in events:
        pygame.event.post(event)
        window.serve(1)


def write(sign: str, key: int, scancode: int = 0) -> list[pygame.event.Event]:
    """Give the events of a key that writes a sign: down, what is written, up."""
    text = pygame.event.Event(pygame.TEXTINPUT, text=sign)
    return [press(key, 0, sign, scancode), text, pygame.event.Event(pygame.KEYUP, key=key, mod=0, scancode=scancode)]


def key_up(key: int) -> pygame.event.Event:
    """Let a key go."""
    return pygame.event.Event(pygame.KEYUP, key=key, mod=0)


def test_letters_digits_and_signs_are_typed() -> None:
    """Keys that mean something elsewhere write here; what a dead key gives comes without a key of its own."""
    window, script = opened(sample_pages.choose_file())
    events = [*write("1", pygame.K_1, pygame.KSCAN_1), *write("d", pygame.K_d), *write(" ", pygame.K_SPACE)]
    events += [*write("?", pygame.K_QUESTION), pygame.event.Event(pygame.TEXTINPUT, text="é")]
    serve(window, *events)
    assert script.wanted == [TypeText(sign) for sign in "1d ?é"]


def test_what_cannot_be_printed_is_not_typed() -> None:
    """Control characters, as some systems send them with Ctrl."""
    window, script = opened(sample_pages.choose_file())
    serve(window, pygame.event.Event(pygame.TEXTINPUT, text="\x16"), pygame.event.Event(pygame.TEXTINPUT, text=""))
    assert script.wanted == []


@pytest.mark.parametrize("command", COMMAND)
def test_backspace_takes_away(command: int) -> None:
    """One letter; with Ctrl or Cmd the line; held down it goes on."""
    window, script = opened(sample_pages.choose_file())
    back = pygame.K_BACKSPACE
    serve(window, press(back, 0, "\x08"), press(back, 0, "\x08"), key_up(back), press(back, command), key_up(back))
    assert script.wanted == [EraseText(), EraseText(), EraseText(whole=True)]


def test_tab_completes_where_something_is_offered() -> None:
    """With offers it completes, and Shift Tab moves the focus; without, Tab moves the focus."""
    window, script = opened(sample_pages.choose_file())
    serve(window, press(pygame.K_TAB), key_up(pygame.K_TAB))
    assert script.wanted == [CompleteText()]
    serve(window, press(pygame.K_TAB, pygame.KMOD_SHIFT), press(pygame.K_RETURN), key_up(pygame.K_RETURN))
    assert len(script.wanted) == 2 and script.wanted[1] not in (CompleteText(), GoOn())
    window, script = opened(sample_pages.name_setup())
    serve(window, press(pygame.K_TAB), press(pygame.K_SPACE, 0, " "), pygame.event.Event(pygame.TEXTINPUT, text=" "))
    assert script.wanted == [GoOn()]


def test_keys_of_a_line_are_listed_where_they_work() -> None:
    """Choosing among what is offered, and the folder above where there is one: as the window moves in such a list."""
    page = sample_pages.choose_file()
    entry = page.entry
    assert entry is not None
    above = replace(entry, text="/songs/crane", offers=(Button("up", SetText("/songs/")), *entry.offers))
    cases = ((entry, entry.way_up is not None, True), (above, True, True), (replace(entry, offers=()), False, False))
    for line, up, offered in cases:
        shown = show_live_keys(replace(page, columns=((line,),), dock=()))
        assert (("←", "up one folder") in {(key.label, key.does) for key in shown.keys}) == up
        assert (("↓ ↑", "choose") in {(key.label, key.does) for key in shown.keys}) == offered


def test_offers_can_be_clicked() -> None:
    """Each small button sets the line."""
    window, script = opened(sample_pages.choose_file())
    box = next(hit.box for hit in window.hits if hit.intent == SetText("crane_b.wav"))
    for kind in (pygame.MOUSEBUTTONDOWN, pygame.MOUSEBUTTONUP):
        serve(window, pygame.event.Event(kind, pos=box.center, button=1))
    assert script.wanted == [SetText("crane_b.wav")]


def test_typing_lets_go_of_the_focus() -> None:
    """After Tab to a button a letter goes to the line again, and Enter means the page's own."""
    window, script = opened(sample_pages.name_setup())
    serve(window, press(pygame.K_TAB), key_up(pygame.K_TAB), press(pygame.K_TAB), key_up(pygame.K_TAB))
    serve(window, *write("a", pygame.K_a), press(pygame.K_RETURN))
    assert script.wanted == [TypeText("a"), GoOn()]


def test_enter_that_is_held_goes_on_once() -> None:
    """Keys repeat while a line is typed, but only those that may."""
    window, script = opened(sample_pages.name_setup())
    serve(window, press(pygame.K_RETURN), press(pygame.K_RETURN), key_up(pygame.K_RETURN), press(pygame.K_RETURN))
    assert script.wanted == [GoOn(), GoOn()]


@pytest.mark.parametrize(
    ("name", "intent"),
    [
        ("return", GoOn()),
        ("escape", GoBack()),
        ("f1", ToggleKeys()),
        ("f2", Do("second")),
        ("ctrl t", ChangeTheme()),
        ("ctrl s", Do("save")),
        ("left", Do("before")),
        ("question", None),
        ("space", None),
        ("1", None),
        ("k", None),
    ],
)
def test_keys_that_write_mean_nothing_else(name: str, intent: Intent | None) -> None:
    """Enter, Esc, arrows, F and Ctrl keys keep their meaning beside a line that is typed."""
    page = sample_pages.choose_file()
    more = ("f2", Do("second")), ("ctrl s", Do("save")), ("left", Do("before")), ("space", Do("x")), ("k", Do("y"))
    page = replace(page, frame=replace(page.frame, keys=(*page.frame.keys, Key("more", "", more))))
    assert find_intent(page, name) == intent


def test_printed_keys_are_those_that_work() -> None:
    """The pill for all keys says F1 here, and digits have none."""
    window, _ = opened(sample_pages.choose_file())
    assert window._pen is not None
    written = [line.text for line in window._pen.written]
    assert "F1" in written and "?" not in written and "1 2" not in written


def test_nothing_is_typed_behind_the_list_of_keys() -> None:
    """Letters are lost there; the space that closes it is no text of the page below."""
    page = sample_pages.name_setup()
    covered = replace(page, frame=replace(page.frame, keys_open=True))
    window, script = opened(covered)
    serve(window, *write("a", pygame.K_a))
    assert script.wanted == []
    window.handle(press(pygame.K_SPACE, 0, " "))
    script.shown = page
    window.handle(pygame.event.Event(pygame.TEXTINPUT, text=" "))
    assert script.wanted == [ToggleKeys()]


class Turning(Script):
    """Shows a page that takes text as soon as anything is wanted."""

    def act(self, intent: Intent) -> None:
        """Turn the page."""
        super().act(intent)
        self.shown = sample_pages.name_setup()


def test_the_key_that_leads_to_a_line_is_not_typed_on_it() -> None:
    """A digit that opens the page stays out of its line."""
    listed = Choices((Button("Two", Do("two")),))
    key = Key("2", "two", (("2", Do("two")),))
    script = Turning(PageView(sample_pages.place_frame("mixes", key), "Two", "", ((listed,),)))
    window = Window(script)
    window.open()
    window.refresh()
    serve(window, *write("2", pygame.K_2, pygame.KSCAN_2), *write("3", pygame.K_3, pygame.KSCAN_3))
    assert script.wanted == [Do("two"), TypeText("3")]


@pytest.mark.parametrize("name", ["trial", "page"])
def test_a_dropped_file_is_taken_on_any_view(name: str) -> None:
    """Several files come one after the other."""
    window, script = opened(sample_views.trial() if name == "trial" else sample_pages.decide())
    paths = ("/home/ines/crane_a.wav", "/home/ines/crane b.flac")
    serve(window, *(pygame.event.Event(pygame.DROPFILE, file=path) for path in paths))
    assert script.wanted == [DropFile(path) for path in paths]


def test_pasting_takes_the_first_line_that_says_something() -> None:
    """A copied path may come with line ends and with what cannot be printed."""
    assert first_line("\n  /home/ines/crane_ä.wav\r\nsecond\0".encode()) == "/home/ines/crane_ä.wav"
    assert first_line(b"") == "" and first_line(b"\xff\xfe\n") == ""
    window, script = opened(sample_pages.choose_file())
    serve(window, press(pygame.K_v, pygame.KMOD_CTRL))
    assert script.wanted == []


def test_letters_made_with_the_right_alt_key_are_no_commands() -> None:
    """Alt Gr comes as Ctrl and Alt together on some systems: what it writes is text (USB HID usages, from memory)."""
    window, script = opened(sample_pages.choose_file())
    down = press(pygame.K_v, pygame.KMOD_CTRL | pygame.KMOD_ALT, "@")
    serve(window, down, pygame.event.Event(pygame.TEXTINPUT, text="@"))
    assert script.wanted == [TypeText("@")]


def test_the_focus_begins_on_the_page_and_reaches_the_head() -> None:
    """Tab goes to the page's first offer; before it, by Shift Tab, stand the parts of the program."""
    window, script = opened(sample_pages.decide())
    serve(window, press(pygame.K_TAB), press(pygame.K_RETURN), press(pygame.K_TAB, pygame.KMOD_SHIFT))
    serve(window, press(pygame.K_RETURN))
    places = sample_pages.place_frame("mixes").places
    assert script.wanted == [Do("step", "Aim"), places[-1].intent]


def test_the_focus_is_brought_into_sight() -> None:
    """On a long list Tab scrolls as it must (WCAG 2.2, 2.4.11); so do the arrows for the line that is chosen."""
    window, script = opened(sample_pages.drills())
    for _ in range(15):
        serve(window, press(pygame.K_TAB))
    focused = [hit for hit in window.hits if hit.by_tab][len(script.shown.frame.places) + 14]
    assert focused.box.height > 30 and window._pen is not None and window._pen.scroll > 0
    page = sample_pages.drills()
    window, script = opened(page)
    items, begin = page.columns[0]
    assert isinstance(items, Items)
    chosen = tuple(replace(item, selected=n == 13) for n, item in enumerate(items.items))
    script.shown = replace(page, columns=((Items(chosen), begin),))
    serve(window, press(pygame.K_DOWN))
    assert window._pen is not None and window._pen.scroll > 0


def test_a_line_that_is_empty_has_a_page_of_its_own_kind() -> None:
    """A page finds its line, inside a sheet as well; others have none."""
    assert isinstance(sample_pages.name_setup().entry, Entry)
    assert sample_pages.weigh().entry is None
