"""Pages and blind questions in a terminal: every part in words, every offer by a number."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Protocol

from trainer.errors import BadValue
from trainer.session import intents
from trainer.session.intents import Intent
from trainer.session.monitoring import find_aids_on, say_aids
from trainer.session.pages import (
    Advance,
    Balance,
    Choices,
    Entry,
    Items,
    PageView,
    Part,
    Picture,
    Prose,
    Share,
    Sheet,
    Stages,
    Table,
    Tally,
    View,
)
from trainer.session.view import Button, MessageView, TrialView
from trainer.text.drill import Terminal
from trainer.text.lines import AIDS, TAKE_BACK, Line, read_line
from trainer.units import write_number

HELP = (
    "A number listens; = and a number takes the offer of that number, = and words fill in what is asked for, =0 goes",
    "back; d plays only what differs, p pauses or goes on, q stops, ? says this and the page again. All is kept.",
    "Where names are shown, mono, sides, swapped and quiet change how it is heard, and back; in a blind round",
    "take back asks the last one again, until the next is answered.",
)


class Session(Protocol):
    """What is shown and asked."""

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

    def describe_question(self) -> dict[str, Any] | None:
        """Describe the blind question that is open as plain facts; None where there is none."""
        ...

    def describe_answer(self) -> dict[str, Any] | None:
        """Describe the last answer of a blind round; None where there is none."""
        ...


class TextProgram:
    """Lead a session through a terminal, line by line.

    Parameters
    ----------
    session : Session
        What is shown and asked.
    terminal : Terminal
        The lines.
    """

    def __init__(self, session: Session, terminal: Terminal) -> None:
        self._session, self._terminal = session, terminal
        self._said: object = None
        self._kept: dict[str, Any] | None = None
        self._noticed = ""
        self._page: list[str] = []
        self._offered: list[str] = []
        self._offers: tuple[Button, ...] = ()
        self._ways: tuple[Button, ...] = ()

    def play(self) -> None:
        """Go on until the person stops, the input ends or the session is finished."""
        self._show()
        for text in self._terminal.lines:
            line = read_line(text)
            if line.kind == "stop":
                break
            try:
                self._act(line)
            except BadValue as error:
                self._terminal.complain(error)
            if self._session.finished:
                break
            self._show()
        self._terminal.tell({"event": "stop"})
        self._terminal.say("Stopped. Everything answered is kept.")

    def _act(self, line: Line) -> None:
        """Do what a line says."""
        plain: dict[str, Intent] = {
            "change": intents.OnlyWhatChanged(),
            "pause": intents.ToggleSound(),
            "more": intents.MoveControl(1),
            "less": intents.MoveControl(-1),
        }
        if line.kind == "answer":
            self._answer(line.text)
        elif line.kind == "listen":
            self._session.act(intents.Listen(int(line.text)))
            self._terminal.say(f"Playing {line.text}.")
        elif line.kind == "aid":
            self._change_hearing(line.text)
        elif line.kind == "take_back":
            self._take_back()
        elif line.kind in plain:
            self._session.act(plain[line.kind])
        elif line.kind == "help":
            for sentence in HELP:
                self._terminal.say(sentence)
            self._say_again()
        elif line.kind == "tone":
            raise BadValue("input", "line", line.text, "Setup, or a drill in a terminal, where tones are chosen")
        elif line.kind != "nothing":
            raise BadValue("input", "line", line.text or line.kind, "a number, =offer, d, p, q or ?")

    def _change_hearing(self, word: str) -> None:
        """Switch an aid to hearing on or off, and say what is on; not where the page has none."""
        intent = intents.ToggleMonitoring(next(aid for aid in AIDS if aid == word))
        if not _offers_key(self._session.view(), intent):
            raise BadValue("input", "line", word, "a page on which names are shown; a question is heard as it is")
        self._session.act(intent)
        self._terminal.say(say_aids(find_aids_on(self._session.view().frame.keys)))

    def _take_back(self) -> None:
        """Take the last pick of a blind round back."""
        if not _offers_key(self._session.view(), intents.TakeBack()):
            raise BadValue("input", "line", TAKE_BACK, "a blind round, right after a pick, and once for each")
        self._session.act(intents.TakeBack())
        self._kept = None
        found = self._session.describe_question()
        if found is not None:
            self._terminal.tell({"event": "taken_back", **found})

    def _answer(self, text: str) -> None:
        """Take an offer by its number, fill in what is asked for, or answer a blind question."""
        view = self._session.view()
        if isinstance(view, TrialView):
            self._session.act(intents.GiveAnswer(text))
            self._report_answer()
            return
        if text == "0":
            self._session.act(intents.GoBack())
            return
        offer = self._find_offer(text)
        if offer is not None:
            self._session.act(offer.intent)
        elif isinstance(view, PageView) and (view.entry is not None or view.words):
            self._session.act(intents.GiveAnswer(text))
        else:
            raise BadValue("input", "offer", text or "nothing", f"0 to {len(self._offers)}")

    def _find_offer(self, text: str) -> Button | None:
        """Find an offer by its number, or by its words."""
        if text.isascii() and text.isdigit():
            return self._offers[int(text) - 1] if 1 <= int(text) <= len(self._offers) else None
        named = (*self._offers, *self._ways)
        return next((offer for offer in named if offer.label.lower() == text.lower()), None)

    def _report_answer(self) -> None:
        """Say that an answer was kept; a verdict comes when the round is complete."""
        found = self._session.describe_answer()
        if found is not None and found != self._kept:
            self._kept = found
            self._terminal.tell({"event": "answer", **found})
            self._terminal.say("Kept.")

    def _show(self) -> None:
        """Wait for work under way, and say what is shown if it is something new."""
        view = self._settle()
        if view.frame.notice and view.frame.notice != self._noticed:
            self._terminal.say(view.frame.notice)
        self._noticed = view.frame.notice
        shown = _leave_out_sound(view)
        if shown == self._said:
            return
        self._said = shown
        if isinstance(view, TrialView):
            self._ask(view)
        elif isinstance(view, PageView):
            self._read_out(view)
        elif isinstance(view, MessageView):
            self._offers = view.buttons
            for sentence in (view.headline, *view.sentences, *_number(self._offers)):
                self._terminal.say(sentence)

    def _settle(self) -> View:
        """Let what is worked on come to its end."""
        self._session.tick()
        view = self._session.view()
        while getattr(view, "busy", False):
            self._session.tick()
            view = self._session.view()
        return view

    def _ask(self, view: TrialView) -> None:
        """Put a blind question."""
        facts = self._session.describe_question()
        if facts is not None:
            self._terminal.tell({"event": "question", **facts})
        versions = ", ".join(_number_version(number, each.label) for number, each in enumerate(view.versions, 1))
        place = f"{view.frame.footer}. " if view.frame.footer else ""
        self._terminal.say(f"{place}{view.question} Listen with {versions}. Answers: =1 =2")

    def _read_out(self, view: PageView) -> None:
        """Say a page and what it offers; on the same page again only what is new."""
        self._offers, self._ways = tuple(_list_buttons(view)), tuple(_list_ways(view))
        words = [view.headline, view.sentence]
        for column in (*view.columns, view.dock):
            for part in column:
                words += _word(part)
        if view.words:
            words.append(f"= and {view.words}")
        words, offers = [line for line in words if line], _number(self._offers)
        self._terminal.tell({"event": "page", "lines": words, "offers": [each.label for each in self._offers]})
        known = self._page if self._page and self._page[0] == view.headline else []
        fresh = [line for line in words if line not in known]
        for line in (*fresh, *(offers if offers != self._offered else ())):
            self._terminal.say(line)
        self._page, self._offered = words, offers

    def _say_again(self) -> None:
        """Say the whole page again."""
        self._said, self._page, self._offered = None, [], []


def _offers_key(view: View, intent: Intent) -> bool:
    """Tell whether a key of the view means something."""
    return any(meant == intent for key in view.frame.keys for _, meant in key.bindings)


def _leave_out_sound(view: View) -> object:
    """Give what a view says apart from what sounds and what is selected."""
    if isinstance(view, TrialView):
        return view.frame.title, view.frame.footer, view.question
    if isinstance(view, PageView):
        return view.headline, view.sentence, view.columns, view.dock
    return view


def _list_buttons(view: PageView) -> Iterator[Button]:
    """List what a page offers, in the order in which it is read; versions have their own numbers."""
    for part in view.list_parts():
        if isinstance(part, Choices):
            yield from (each for each in part.buttons if not isinstance(each.intent, intents.OnlyWhatChanged))
        elif isinstance(part, Items):
            yield from (Button(_join(item.title, item.note), item.intent) for item in part.items)
    if view.entry is not None:
        yield from view.entry.offers


def _list_ways(view: PageView) -> Iterator[Button]:
    """List where else can be gone to, by name alone: the steps of a longer way."""
    for part in view.list_parts():
        if isinstance(part, Stages):
            yield from part.steps


def _number(offers: tuple[Button, ...]) -> list[str]:
    return [f"={number} {button.label}" for number, button in enumerate(offers, 1)]


def _word(part: Part) -> list[str]:
    """Say one part."""
    if isinstance(part, Prose):
        return [part.text]
    if isinstance(part, Sheet):
        return [part.title, *(line for inner in part.parts for line in _word(inner)), part.caption]
    if isinstance(part, Table):
        return (
            [_join(*row) for row in part.rows]
            if not part.head
            else [_join(*part.head), *(_join(*r) for r in part.rows)]
        )
    if isinstance(part, Items):
        return [_join(item.title, item.detail, item.amount, item.note) for item in part.items]
    if isinstance(part, Picture):
        return [part.figure.described]
    if isinstance(part, Tally):
        return [f"{part.title} {part.sum}"]
    if isinstance(part, Share):
        counts = ", ".join(f"{n} {write_number(c, 0)}" for n, c in zip(part.names, part.counts, strict=True))
        return [f"{part.title} {counts}" if part.title.endswith("?") else f"{part.title}: {counts}"]
    if isinstance(part, Balance):
        named = ", ".join(f"{number} {_bare(each.label)}" for number, each in enumerate(part.versions, 1))
        return [f"Listen: {named}; {part.words}."]
    if isinstance(part, Entry):
        return [f"{part.label}: = and {part.hint}" if part.hint else part.label]
    if isinstance(part, Advance):
        return [part.words]
    if isinstance(part, Stages):
        names = ", ".join(step.label for step in part.steps)
        return [
            f"Step {part.current + 1} of {len(part.steps)}: {part.steps[part.current].label}",
            f"Steps, by name: {names}",
        ]
    return []


def _number_version(number: int, label: str) -> str:
    return str(number) if label == str(number) else f"{number} ({label})"


def _bare(label: str) -> str:
    """Leave a label's own number out."""
    return label.split(", ", 1)[-1]


def _join(*words: str) -> str:
    return "; ".join(word for word in words if word)
