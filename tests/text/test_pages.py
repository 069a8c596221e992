"""Pages in a terminal: what a line is taken for, and how much is said again."""

from __future__ import annotations

import io
from collections.abc import Iterator

import pytest

from trainer.errors import BadValue
from trainer.session import intents
from trainer.session.intents import Intent
from trainer.session.pages import Balance, Choices, Entry, Items, PageView, Prose, Sheet
from trainer.session.view import Button, Frame, PlanItem, Sounding
from trainer.text.drill import Interrupted, Terminal
from trainer.text.pages import TextProgram


class Form:
    """Stand in for a session: a line to fill in, two things to choose, a way on and a way back."""

    finished = False

    def __init__(self) -> None:
        self.text, self.chosen, self.acted = "", "", list[Intent]()

    def view(self) -> PageView:
        """Give the one page."""
        items = tuple(
            PlanItem(n, name, "", "", "chosen" if name == self.chosen else "", intents.Do("choose", name), False)
            for n, name in enumerate(("Cable", "Rope"), 1)
        )
        mood = PlanItem(3, "Mood", self.text, "", "", intents.Do("field"), False)
        way = Choices((Button("Take it", intents.GoOn(), main=True), Button("Next: the rest", intents.Do("finish"))))
        parts = (Entry("Mood", self.text, "such as: restless"), Items((*items, mood)), way)
        return PageView(Frame("A form", "", ()), "The form", "", (parts,))

    def act(self, intent: Intent) -> None:
        """Keep what was wanted."""
        self.acted.append(intent)
        if isinstance(intent, intents.GiveAnswer):
            self.text = intent.text
        elif isinstance(intent, intents.Do) and intent.what == "choose":
            self.chosen = intent.value

    def tick(self) -> None:
        """Do nothing."""

    def describe_question(self) -> None:
        """Give none."""

    def describe_answer(self) -> None:
        """Give none."""


def fill(*lines: str) -> tuple[Form, list[str], list[str]]:
    """Type lines; gives the form, what was said, and complaints."""
    form, out, errors = Form(), io.StringIO(), io.StringIO()
    TextProgram(form, Terminal(iter(lines), out, errors, False)).play()
    return form, out.getvalue().splitlines(), errors.getvalue().splitlines()


@pytest.mark.parametrize("line", ["foo", "=foo", "two words", "end"])
def test_a_plain_line_fills_in_what_is_asked_for(line: str) -> None:
    """So does one after `=`."""
    assert fill(line)[0].text == line.removeprefix("=")


@pytest.mark.parametrize("line", ["=99", "=6"])
def test_a_number_is_an_offer_or_nothing(line: str) -> None:
    """Out of range it is refused, and is no answer; the range is named."""
    form, _, complaints = fill(line)
    assert not form.acted
    assert complaints == [str(BadValue("input", "offer", line[1:], "1 to 5, or 0 to go back"))]


def test_next_and_back_are_the_same_on_every_page() -> None:
    """To the next page, and back; with or without `=`."""
    form, said, _ = fill("next", "=next", "back", "=back", "=0")
    assert form.acted == [intents.Do("finish")] * 2 + [intents.GoBack()] * 3
    assert "next: The rest. back, or =0: back." in said


def test_after_an_answer_only_what_changed_is_said() -> None:
    """Two choices cost two lines and the prompt each; the whole page again on `?`."""
    opening = len(fill()[1])
    _, said, _ = fill("=1", "wild")
    assert said[opening - 1 : -1] == [
        "=1 Cable; chosen",
        "Mood: such as: restless. Type it as a line.",
        "Mood; wild",
        "Mood: such as: restless. Type it as a line.",
    ]
    assert said.count("The form") == 1 and fill("?")[1].count("The form") == 2


def test_an_empty_field_stands_among_the_offers_only() -> None:
    """Its name alone says nothing more."""
    said = fill()[1]
    assert "=3 Mood" in said and "Mood" not in said


def test_an_interrupt_says_what_the_end_of_input_says() -> None:
    """The same closing line."""

    def type_lines() -> Iterator[str]:
        raise KeyboardInterrupt
        yield ""

    out = io.StringIO()
    with pytest.raises(Interrupted):
        TextProgram(Form(), Terminal(type_lines(), out, io.StringIO(), False)).play()
    assert out.getvalue().splitlines()[-1] == "Stopped. Everything answered is kept."


class Deck(Form):
    """Stand in for a session: versions, what differs, settings, a notice that stands, and another that comes."""

    def __init__(self, words: str = "") -> None:
        super().__init__()
        self.notice, self.setting, self.words, self.running = "No sound.", "20 ms", words, False

    def view(self) -> PageView:
        """Give the one page."""
        versions = tuple(Button(f"{n}, take {n}", intents.Listen(n)) for n in (1, 2))
        settings = tuple(
            Button(name, intents.Do("set", name), selected=name == self.setting) for name in ("20 ms", "50 ms")
        )
        what = Button("Only what differs", intents.OnlyWhatChanged())
        parts = (
            Prose("Release: how long it takes. ↑ ↓"),
            Balance(versions, "both at −20.0 LUFS"),
            Choices((what, *settings)),
            Sheet("What it does", (Prose(f"{self.setting} is what you hear."),)),
            Sheet("Over time", (Prose("Over time; S snare."),), "S snare."),
        )
        frame = Frame("A deck", "", (), notice=self.notice)
        return PageView(frame, "The deck", "", (parts,), words=self.words, sounding=Sounding(1, 0.0, self.running))

    def act(self, intent: Intent) -> None:
        """Set what is wanted; all else is refused in a notice."""
        super().act(intent)
        self.notice = "No sound."
        if isinstance(intent, intents.Do):
            self.setting = intent.value
        elif isinstance(intent, intents.ToggleSound):
            self.running = not self.running
        elif isinstance(intent, intents.GoBack):
            self.notice = "There is nothing behind this page."


def turn(deck: Deck, *lines: str) -> tuple[list[str], list[str]]:
    """Type lines; gives what was said after the page, and complaints."""
    out, errors = io.StringIO(), io.StringIO()
    opening = io.StringIO()
    TextProgram(Deck(deck.words), Terminal(iter(()), opening, io.StringIO(), False)).play()
    TextProgram(deck, Terminal(iter(lines), out, errors, False)).play()
    return out.getvalue().splitlines()[len(opening.getvalue().splitlines()) - 1 : -1], errors.getvalue().splitlines()


def test_a_notice_is_said_as_often_as_it_comes_and_what_stands_there_once() -> None:
    """By construction: the same line twice is answered twice; behind it the first notice is not said again."""
    said, _ = turn(Deck(), "back", "back", "", "=50 ms")
    assert said[:2] == ["There is nothing behind this page."] * 2
    assert "No sound." not in said and not any("nothing behind" in line for line in said[2:])


def test_a_number_listens_only_to_what_there_is() -> None:
    """By construction: two versions; a third is refused, and so is any where there is none."""
    deck = Deck()
    said, complaints = turn(deck, "2", "3")
    assert said == ["Playing 2."] and deck.acted == [intents.Listen(2)]
    assert complaints == ["input: version=3, expected 1 to 2"]
    form, said, complaints = fill("2")
    assert not form.acted and not any(line.startswith("Playing") for line in said)
    assert complaints == ["input: version=2, expected =2 for an offer; there is nothing to listen to here"]


def test_a_number_that_is_asked_for_needs_no_sign_before_it() -> None:
    """A tempo is a number; where a version has it, the version is heard."""
    deck = Deck(words="the tempo, such as 92")
    turn(deck, "92", "1")
    assert deck.acted == [intents.GiveAnswer("92"), intents.Listen(1)]


def test_what_is_chosen_and_what_stands_under_a_title_is_said() -> None:
    """By construction: the setting has its mark; a new line is said after its title, others are not said again."""
    said, _ = turn(Deck(), "=2")
    assert said == ["What it does", "50 ms is what you hear.", "=1 20 ms", "=2 50 ms; chosen"]


def test_a_page_names_no_key_and_nothing_twice() -> None:
    """By construction: arrows and a caption that the description holds; what differs by its letter."""
    deck = Deck()
    out = io.StringIO()
    TextProgram(deck, Terminal(iter(()), out, io.StringIO(), False)).play()
    said = out.getvalue().splitlines()
    assert "Release: how long it takes." in said and "d: Only what differs." in said
    assert sum("S snare." in line for line in said) == 1


def test_what_differs_and_a_pause_are_answered() -> None:
    """As in a drill; where nothing differs to be heard, in one line."""
    said, complaints = turn(Deck(), "d", "p", "p")
    assert said == ["Playing only what differs.", "Playing.", "Paused."] and complaints == []
    assert fill("d")[2] == ["input: line=d, expected a page on which what differs can be heard"]
