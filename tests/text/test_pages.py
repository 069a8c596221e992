"""Pages in a terminal: what a line is taken for, and how much is said again."""

from __future__ import annotations

import io
from collections.abc import Iterator

import pytest

from trainer.errors import BadValue
from trainer.session import intents
from trainer.session.intents import Intent
from trainer.session.pages import Choices, Entry, Items, PageView
from trainer.session.view import Button, Frame, PlanItem
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


@pytest.mark.parametrize("line", ["foo", "=foo", "two words"])
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
