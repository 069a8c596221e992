"""Pages and blind questions in a terminal: every part in words, every offer by a number."""

from __future__ import annotations

from typing import Any, Protocol

from trainer.errors import BadValue
from trainer.session import intents
from trainer.session.answer_tones import CHOICES, say_choice
from trainer.session.intents import Intent
from trainer.session.monitoring import find_aids_on, say_aids
from trainer.session.pages import PageView, View
from trainer.session.view import Button, MessageView, TrialView
from trainer.text.drill import Terminal, close_after
from trainer.text.lines import AIDS, TAKE_BACK, TONES_EXPECTED, TONES_HELP, Line, read_line
from trainer.text.page_words import (
    find_place,
    head_lines,
    leave_out_sound,
    list_buttons,
    list_item_words,
    list_titles,
    list_versions,
    list_ways,
    number_offers,
    number_version,
    offers_change,
    word_page,
    word_prompt,
)
from trainer.units import begin_large

HELP = (
    "A number listens; = and a number, or the words of an offer, takes it.",
    "next takes the main way on; back, or =0, goes back.",
    "Where text is asked for, a plain line is it; put = before a text that is a number's or a command's word.",
    "d plays only what differs, p pauses or goes on, q stops, ? says this and the page again. All is kept.",
    "The same in words: difference, pause, stop, help.",
    "Where names are shown, mono, sides, swapped and quiet change how it is heard, and back.",
    "In a blind round take back asks the last one again, until the next is answered.",
    TONES_HELP,
)
# Lines that are no command on a page; what ends a drill is a word like any other here.
TEXTS = ("unknown", "end")
# Lines that change something, beside those that only let it be heard.
ACTS = ("answer", "next", "back", *TEXTS)
# How the button of a step that leads to the one after it begins.
NEXT = "Next: "


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
        self._opened_with: str | None = None
        self._page: list[str] = []
        self._offered: list[str] = []
        self._place: tuple[object, ...] = ()
        self._offers: tuple[Button, ...] = ()
        self._ways: tuple[Button, ...] = ()

    def play(self) -> None:
        """Go on until the person stops, the input ends or the session is finished.

        Raises
        ------
        Interrupted
            If it was interrupted at the keyboard; what there was to say is said.
        """
        with close_after(self._close):
            self._take_lines()

    def _take_lines(self) -> None:
        """Show, and take lines as they come."""
        self._show()
        for text in self._terminal.lines:
            line = read_line(text)
            if line.kind == "stop":
                return
            acted = line.kind in ACTS
            try:
                self._act(line)
            except BadValue as error:
                self._terminal.complain(error)
                acted = False
            if self._session.finished:
                return
            self._show(acted)

    def _close(self) -> None:
        """Say that it is over."""
        self._terminal.tell({"event": "stop"})
        self._terminal.say("Stopped. Everything answered is kept.")

    def _act(self, line: Line) -> None:
        """Do what a line says."""
        plain: dict[str, Intent] = {
            "more": intents.MoveControl(1),
            "less": intents.MoveControl(-1),
        }
        if line.kind == "answer":
            self._answer(line.text)
        elif line.kind == "listen":
            self._listen(line.text)
        elif line.kind == "aid":
            self._change_hearing(line.text)
        elif line.kind == "change":
            self._play_change(line.text)
        elif line.kind == "pause":
            self._pause_or_go_on()
        elif line.kind == "take_back":
            self._take_back()
        elif line.kind in plain:
            self._session.act(plain[line.kind])
        elif line.kind == "help":
            for sentence in HELP:
                self._terminal.say(sentence)
            self._say_again()
        elif line.kind == "tone":
            self._choose_tones(line.text)
        elif line.kind == "tones":
            raise BadValue("input", "line", line.text, TONES_EXPECTED)
        elif line.kind == "next":
            self._go_on()
        elif line.kind == "back":
            self._session.act(intents.GoBack())
        elif line.kind in TEXTS and _takes_text(self._session.view()):
            self._session.act(intents.GiveAnswer(line.text))
        elif line.kind != "nothing":
            raise BadValue("input", "line", line.text or line.kind, self._name_lines())

    def _listen(self, text: str) -> None:
        """Play a version; where there is none of that number, a number may be what is asked for."""
        view, intent = self._session.view(), intents.Listen(int(text))
        if intent in list_versions(view):
            self._session.act(intent)
            self._terminal.say(f"Playing {text}.")
        elif _takes_numbers(view):
            self._session.act(intents.GiveAnswer(text))
        else:
            count = len(list_versions(view))
            expected = f"1 to {count}" if count else f"={text} for an offer; there is nothing to listen to here"
            raise BadValue("input", "version", text, expected)

    def _play_change(self, word: str) -> None:
        """Play only what differs, where that is offered."""
        if not offers_change(self._session.view()):
            raise BadValue("input", "line", word, "a page on which what differs can be heard")
        self._session.act(intents.OnlyWhatChanged())
        self._terminal.say("Playing only what differs.")

    def _pause_or_go_on(self) -> None:
        """Pause, or go on, and say which where something sounds."""
        self._session.act(intents.ToggleSound())
        sounding = getattr(self._session.view(), "sounding", None)
        if sounding is not None:
            self._terminal.say("Playing." if sounding.playing else "Paused.")

    def _go_on(self) -> None:
        """Take the main way on."""
        main = self._find_main()
        if main is None:
            raise BadValue("input", "line", "next", "a page with a main way on; here, = and a number")
        self._session.act(main.intent)

    def _find_main(self) -> Button | None:
        """Find the main way on, where there is one: to the next page, or else what the page accents."""
        if isinstance(self._session.view(), TrialView):
            return None
        ways = (*filter(_leads_on, self._offers), *(each for each in self._offers if each.main))
        return next(iter(ways), None)

    def _name_lines(self) -> str:
        """Name what can be typed now; aids to hearing where they work."""
        keys = self._session.view()
        aids = [aid for aid in AIDS if _offers_key(keys, intents.ToggleMonitoring(aid))]
        return ", ".join(("a number", "=offer", "next", "back", "d", "p", *aids)) + ", q or ?"

    def _change_hearing(self, word: str) -> None:
        """Switch an aid to hearing on or off, and say what is on; not where the page has none."""
        intent = intents.ToggleMonitoring(next(aid for aid in AIDS if aid == word))
        if not _offers_key(self._session.view(), intent):
            raise BadValue("input", "line", word, "a page on which names are shown; a question is heard as it is")
        self._session.act(intent)
        self._terminal.say(say_aids(find_aids_on(self._session.view().frame.keys)))

    def _choose_tones(self, name: str) -> None:
        """Choose what sounds after each answer, from now on."""
        choice = next(each for each in CHOICES if each == name)
        self._session.act(intents.ChooseTones(choice))
        self._terminal.say(say_choice(choice))

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
        offer = self._find_offer(text)
        if text == "0" or (offer is None and text.lower() == "back"):
            self._session.act(intents.GoBack())
        elif offer is not None:
            self._session.act(offer.intent)
        elif text.lower() == "next":
            self._go_on()
        elif _takes_text(view) and (not _is_number(text) or _takes_numbers(view)):
            self._session.act(intents.GiveAnswer(text))
        else:
            raise BadValue("input", "offer", text or "nothing", self._name_offers())

    def _name_offers(self) -> str:
        """Name the numbers that are offered."""
        count = len(self._offers)
        ways = (f"1 to {count}" if count > 1 else "1") + ", or 0 to go back"
        return ways if count else "0 to go back; there is nothing else to choose here"

    def _find_offer(self, text: str) -> Button | None:
        """Find an offer by its number, or by its words."""
        if _is_number(text):
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

    def _show(self, acted: bool = False) -> None:
        """Wait for work under way, and say what is shown if it is something new."""
        view = self._settle()
        shown = leave_out_sound(view)
        # Where a line did nothing but bring the same notice once more, that is its answer.
        self._say_notice(view.frame.notice, acted and shown == self._said)
        if shown == self._said:
            return
        self._said = shown
        if not isinstance(view, PageView):
            self._page, self._offered, self._place = [], [], ()
        if isinstance(view, TrialView):
            self._ask(view)
        elif isinstance(view, PageView):
            self._read_out(view)
        elif isinstance(view, MessageView):
            self._offers = view.buttons
            for sentence in (view.headline, *view.sentences, *number_offers(self._offers)):
                self._terminal.say(sentence)

    def _say_notice(self, notice: str, again: bool) -> None:
        """Say a notice when it comes; what stood there at the beginning, behind every other one, is said once."""
        first = self._opened_with is None
        if first:
            self._opened_with = notice
        if notice and (first or notice != self._opened_with) and (again or notice != self._noticed):
            self._terminal.say(notice)
        self._noticed = notice

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
        versions = ", ".join(number_version(number, each.label) for number, each in enumerate(view.versions, 1))
        place = f"{view.frame.footer}. " if view.frame.footer else ""
        self._terminal.say(f"{place}{view.question} Listen with {versions}. Answers: =1 =2")

    def _read_out(self, view: PageView) -> None:
        """Say a page and what it offers; on the same page again only what is new, and what is asked for next."""
        same = self._is_same(view)
        self._offers, self._ways = tuple(list_buttons(view)), tuple(list_ways(view))
        words, prompt, offers = word_page(view), word_prompt(view), number_offers(self._offers)
        self._terminal.tell(
            {"event": "page", "lines": [*words, *prompt], "offers": [each.label for each in self._offers]}
        )
        lines = self._choose_new(view, words, offers) if same else [*words, *offers, self._word_ways()]
        for line in (*lines, *prompt):
            self._terminal.say(line)
        self._page, self._offered, self._place = words, offers, find_place(view)

    def _is_same(self, view: PageView) -> bool:
        """Tell whether a view is the page that was read out last: its place, and half or more of what it offered."""
        if not self._page or self._place != find_place(view):
            return False
        intents_now = [each.intent for each in list_buttons(view)]
        return 2 * sum(each.intent in intents_now for each in self._offers) >= len(self._offers)

    def _choose_new(self, view: PageView, words: list[str], offers: list[str]) -> list[str]:
        """Choose the lines of a page that are new; an item that is said as an offer is not said twice."""
        fresh = [line for line in offers if line not in self._offered]
        told = {line.partition(" ")[2] for line in fresh}
        items = list_item_words(view)
        new = [line for line in words if line not in self._page]
        gone = range(len(offers) + 1, len(self._offered) + 1)
        over = [f"No longer offered: {', '.join(f'={number}' for number in gone)}"] if gone else []
        said = [line for line in new if line not in items or items[line].label not in told]
        return [*head_lines(said, list_titles(view)), *fresh, *over]

    def _word_ways(self) -> str:
        """Word the two ways that every page has."""
        main = self._find_main()
        if main is None or isinstance(main.intent, intents.GoBack):
            return "back, or =0: back."
        return f"next: {begin_large(main.label.removeprefix(NEXT))}. back, or =0: back."

    def _say_again(self) -> None:
        """Say the whole page again."""
        self._said, self._page, self._offered, self._place = None, [], [], ()


def _offers_key(view: View, intent: Intent) -> bool:
    """Tell whether a key of the view means something."""
    return any(meant == intent for key in view.frame.keys for _, meant in key.bindings)


def _takes_text(view: View) -> bool:
    """Tell whether a page asks for a line of text."""
    return isinstance(view, PageView) and (view.entry is not None or bool(view.words))


def _takes_numbers(view: View) -> bool:
    """Tell whether what a page asks for may be a bare number, as a tempo or a time is."""
    return isinstance(view, PageView) and bool(view.words)


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdigit()


def _leads_on(button: Button) -> bool:
    return button.label.startswith(NEXT)
