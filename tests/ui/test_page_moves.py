"""Where a page stands after something was done on it, and what keys do beside a line that is typed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pygame
import pytest

from tests.fakes import FakeFiles, make_world
from tests.ui import sample_pages, sample_views
from tests.ui.test_keymap import press
from tests.ui.test_typing import key_up, serve
from tests.ui.test_window import Script, click, opened
from trainer.session.intents import Do, GiveAnswer, GoOn, GoTo, SetText
from trainer.session.pages import Choices, Items, Loop, PageView, Prose, Sheet, Stages
from trainer.session.screens import Program
from trainer.session.view import Button, Key, PlanItem
from trainer.ui.widgets.page import FADE
from trainer.ui.window import TOO_SOON_S, Window

STEPS = tuple(Button(name, Do("step", name)) for name in ("Aim", "Balance"))


def make_step(current: int, *decided: str) -> PageView:
    """Make a long step with what has been decided on it."""
    long = tuple(Prose(f"Line {n}.") for n in range(60))
    parts = (Stages(STEPS, (False, False), current), Sheet("Moves", (*(Prose(each) for each in decided), *long)))
    return PageView(sample_pages.place_frame("mixes", Key("K", "keep", (("k", Do("keep")),))), "crane 4", "", (parts,))


def scroll_of(window: Window) -> int:
    """Give how far the page is scrolled."""
    assert window._pen is not None
    return window._pen.scroll


def show(window: Window, script: Script, view: PageView) -> int:
    """Show another view, and give how far it is scrolled."""
    script.shown = view
    window.refresh()
    return scroll_of(window)


def test_a_decision_leaves_the_page_where_it_is_and_another_page_begins_at_the_top() -> None:
    """One step with more decided is the same page; the next step is another one, though its headline is the same."""
    window, script = opened(make_step(0))
    for _ in range(3):
        serve(window, press(pygame.K_PAGEDOWN), key_up(pygame.K_PAGEDOWN))
    at = scroll_of(window)
    assert at > 300
    assert show(window, script, make_step(0, "Low shelf: kept.")) == at
    assert show(window, script, make_step(1)) == 0


def test_a_key_does_not_pull_the_page_to_what_is_chosen() -> None:
    """Only a choice that moves is followed; a decision with another line chosen far above leaves the page."""
    items = Items(tuple(PlanItem(0, f"Line {n}", "", "", "", Do("x", str(n)), n == 0) for n in range(40)))
    key = Key("K", "keep", (("k", Do("keep")), ("down", Do("down"))))
    page = PageView(sample_pages.place_frame("mixes", key), "Lines", "", ((items,),))
    window, script = opened(page)
    serve(window, press(pygame.K_END), key_up(pygame.K_END))
    at = scroll_of(window)
    serve(window, press(pygame.K_k), key_up(pygame.K_k))
    assert script.wanted == [Do("keep")] and scroll_of(window) == at > 0


def test_the_next_question_of_a_round_stays_where_the_last_one_was() -> None:
    """On a small window with large type the answers lie below the fold: one scroll is enough for a round."""
    view = sample_views.restyle(sample_views.trial(), "paper", 250)
    script = Script(view)
    window = Window(script, (960, 600))
    window.open()
    window.refresh()
    serve(window, press(pygame.K_END), key_up(pygame.K_END))
    at = scroll_of(window)
    script.shown = replace(view, marks=sample_views.marks(7, 30))  # type: ignore[type-var]
    window.refresh()
    assert scroll_of(window) == at > 0


def test_a_receipt_comes_into_sight_no_further_than_it_must() -> None:
    """On a small window with large type the receipt stands below; the page is moved by no more than its top needs."""
    closed = sample_views.restyle(sample_views.reveal(), "paper", 200)
    window, script = opened(closed)
    script.shown = sample_views.restyle(sample_views.reveal(True, True), "paper", 200)
    window.refresh()
    assert window._pen is not None and window._pen.body is not None
    box = window._pen.wanted["chosen"]
    assert window._pen.body.top <= box.top < window._pen.body.bottom
    wide, script = opened(sample_views.reveal())
    script.shown = sample_views.reveal(True, True)
    wide.refresh()
    assert scroll_of(wide) == 0


def written(window: Window) -> list[str]:
    """Give all that is written."""
    assert window._pen is not None
    return [line.text for line in window._pen.written]


def test_a_number_before_a_line_is_a_key_that_does_it() -> None:
    """Where no key does, and where digits are typed, no number is shown."""
    item = PlanItem(7, "Seven", "", "", "", Do("seven"), False)
    bound = Key("7", "that one", (("7", Do("seven")),))
    for key, number in ((bound, True), (Key("K", "keep", (("k", Do("keep")),)), False)):
        page = PageView(sample_pages.place_frame("mixes", key), "Lines", "", ((Items((item,)),),))
        window, _ = opened(page)
        assert ("7" in written(window)[written(window).index("Lines") :][:3]) is number
    entry = sample_pages.name_setup().columns[0][0]
    typed = PageView(sample_pages.place_frame("mixes", bound), "Lines", "", ((entry, Items((item,))),))
    assert "7" not in written(opened(typed)[0])


def test_answers_bear_the_letters_that_give_them() -> None:
    """Each answer to a question whose answers have letters; what says its number itself bears none."""
    view = sample_views.naming()
    letters = {button.intent: letter for letter, button in zip("QWERTYUIOP", view.answers, strict=False)}
    key = Key("Q W E R T", "answer", tuple((letter.lower(), intent) for intent, letter in letters.items()))
    window, _ = opened(replace(view, frame=replace(view.frame, keys=(key,))))
    boxes = {hit.intent: hit.box for hit in window.hits if isinstance(hit.intent, GiveAnswer) and hit.by_tab}
    assert window._pen is not None and len(boxes) >= 3
    for intent, box in boxes.items():
        inside = [line.text for line in window._pen.written if box.contains(line.box)]
        assert letters[intent] in inside
    assert written(opened(sample_views.trial())[0]).count("1") == 1


def open_files() -> tuple[Window, Program]:
    """Open the page on which a file is chosen, in a folder."""
    files = FakeFiles(("/m/a/", "/m/a/one.wav", "/m/a/two.wav", "/m/b.wav"))
    program = Program(make_world({}, files=files))
    program.act(GoTo("weigh"))
    program.act(SetText("/m/"))
    window = Window(program)
    window.open()
    window.refresh()
    return window, program


def test_a_file_is_chosen_with_arrows_and_enter() -> None:
    """Down goes into the list, Enter enters the folder, where the first thing has the focus; left goes up again."""
    window, program = open_files()

    def use(*keys: int) -> str:
        for key in keys:
            serve(window, press(key), key_up(key))
        return program.state.typed

    assert use(pygame.K_DOWN, pygame.K_RETURN) == "/m/a/"
    assert use(pygame.K_LEFT) == "/m/"
    assert use(pygame.K_UP, pygame.K_DOWN, pygame.K_RETURN) == "/m/a/"
    assert use(pygame.K_DOWN, pygame.K_RETURN) == "/m/a/two.wav"
    use(pygame.K_RETURN)
    assert program.state.weigh.files == ("/m/a/two.wav",) and not program.state.typed


def test_a_file_is_chosen_with_the_mouse() -> None:
    """A folder, and a file in it."""
    window, program = open_files()
    for text in ("/m/a/", "/m/a/one.wav"):
        click(window, next(hit.box for hit in window.hits if hit.intent == SetText(text)).center)
    assert program.state.typed == "/m/a/one.wav"


def test_numbers_keep_their_units_and_no_word_is_left_alone() -> None:
    """Rules of typesetting, common practice, no source."""
    window, _ = opened(sample_views.today())
    assert window._pen is not None
    letters = window._pen.lettering
    text = "It fades out over 2.50 s and ends at 178.00 s."
    for room in range(60, 400, 7):
        lines = letters.wrap(text, "regular", 15, room)
        assert " ".join(lines) == text
        assert all(letters.width(line, "regular", 15) <= room for line in lines)
        if room > 80:
            assert not any(line.startswith("s") for line in lines)
    sentence = "each move is heard blind, at equal loudness, before it is kept."
    whole = letters.width(sentence, "regular", 15)
    assert len(letters.wrap(sentence, "regular", 15, whole - 3)[-1].split()) > 1


def test_an_enter_too_many_after_the_last_pick_does_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """The verdict that takes the place of a blind question cannot be pressed away at once, and can be after that."""
    now_s = 100.0
    monkeypatch.setattr("trainer.ui.window.time.monotonic", lambda: now_s)
    window, script = opened(sample_views.trial())
    show(window, script, sample_pages.weigh())
    serve(window, press(pygame.K_RETURN), key_up(pygame.K_RETURN))
    assert script.wanted == []
    now_s += TOO_SOON_S
    serve(window, press(pygame.K_RETURN), key_up(pygame.K_RETURN))
    assert script.wanted == [GoOn()]


@pytest.mark.parametrize("lines", [8, 9, 10, 11, 12, 60])
def test_a_loop_below_the_fold_moves_nothing_outside_the_page(lines: int) -> None:
    """However much of the loop is hidden, the playhead leaves dock, keys and the veil at the page's edge alone."""
    words = Sheet("Above", tuple(Prose(f"Line {n}.") for n in range(lines)))
    page = replace(
        sample_pages.weigh(), columns=((words, Loop(), words),), dock=(Choices((Button("Keep", Do("keep")),)),)
    )
    window, script = opened(page)
    pen = window._pen
    assert pen is not None and pen.body is not None and pen.wave is not None and pen.scroll_most > 0
    before = pygame.surfarray.array3d(pygame.display.get_surface())
    for fraction in (0.2, 0.5, 0.9):
        script.shown = replace(page, sounding=replace(page.sounding, fraction=fraction))
        window.refresh()
    after = pygame.surfarray.array3d(pygame.display.get_surface())
    changed = np.argwhere(np.any(before != after, axis=2))
    seen = pen.wave.clip(pen.body)
    veiled = pen.body.bottom - min(pen.px(FADE), 2 * pen.scroll_most)
    assert (changed.size == 0) == (seen.height == 0 or seen.top >= veiled)
    if changed.size:
        assert pen.body.top <= changed[:, 1].min() and changed[:, 1].max() < veiled
