"""A page in words: its parts, what it asks for, and what it offers by number."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from trainer.session import intents
from trainer.session.intents import Intent
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
from trainer.session.view import Button, PlanItem, TrialView
from trainer.units import write_number

# Keys that a sentence ends on, which mean nothing in a terminal.
KEYS = re.compile(r"(?<=\.)(?: [A-Z↑↓←→])+$")
CHOSEN = "chosen"
DONE_HELP = "done ends it, and everything marked is kept."


def word_page(view: PageView) -> list[str]:
    """Word what a page says, in the order in which it is read."""
    words = [view.headline, view.sentence]
    for column in (*view.columns, view.dock):
        for part in column:
            words += _word(part)
    return [line for line in words if line]


def list_titles(view: PageView) -> dict[str, str]:
    """Give, for every line that says nothing without it, the title that it stands under."""
    return {
        line: part.title
        for column in (*view.columns, view.dock)
        for part in column
        if isinstance(part, Sheet)
        for inner in part.parts
        if not isinstance(inner, Items)
        for line in _word(inner)
    }


def head_lines(lines: Sequence[str], titles: Mapping[str, str]) -> list[str]:
    """Put each title once before the lines that stand under it, where it is not among them."""
    headed: list[str] = []
    for line in lines:
        title = titles.get(line, "")
        headed += [line] if not title or title in headed or title in lines else [title, line]
    return headed


def word_prompt(view: PageView) -> list[str]:
    """Word what a page asks to be typed; nothing where it takes no text."""
    lines = []
    if view.entry is not None and view.words:
        return [f"{view.entry.label}. Type {view.words}."]
    if view.entry is not None:
        hint = f": {view.entry.hint}" if view.entry.hint else ""
        lines.append(f"{view.entry.label}{hint}. Type it as a line.")
    if view.words:
        lines.append(f"Type {view.words}.")
        lines += [DONE_HELP[0].upper() + DONE_HELP[1:]] if view.words.endswith("done") else []
    return lines


def list_item_words(view: PageView) -> dict[str, Button]:
    """Give, for every line that stands for an item, the offer that it is."""
    return {
        line: _offer_item(item)
        for part in view.list_parts()
        if isinstance(part, Items)
        for item, line in zip(part.items, map(_word_item, part.items), strict=True)
    }


def list_buttons(view: PageView) -> Iterator[Button]:
    """List what a page offers, in the order in which it is read; versions have their own numbers."""
    for part in view.list_parts():
        if isinstance(part, Choices):
            yield from (each for each in part.buttons if not isinstance(each.intent, intents.OnlyWhatChanged))
        elif isinstance(part, Items):
            yield from map(_offer_item, part.items)
    if view.entry is not None:
        yield from view.entry.offers


def list_versions(view: View) -> tuple[Intent, ...]:
    """List what is listened to by a number."""
    if isinstance(view, TrialView):
        return tuple(each.intent for each in view.versions)
    if not isinstance(view, PageView):
        return ()
    named = [each for part in view.list_parts() if isinstance(part, Balance) for each in part.versions]
    offered = (*named, *list_buttons(view))
    return tuple(each.intent for each in offered if isinstance(each.intent, intents.Listen))


def offers_change(view: View) -> bool:
    """Tell whether what differs can be heard by itself."""
    buttons = (
        each for part in getattr(view, "list_parts", tuple)() if isinstance(part, Choices) for each in part.buttons
    )
    return any(isinstance(each.intent, intents.OnlyWhatChanged) for each in buttons)


def leave_out_sound(view: View) -> object:
    """Give what a view says apart from what sounds and what is selected."""
    if isinstance(view, TrialView):
        return view.frame.title, view.frame.footer, view.question
    if isinstance(view, PageView):
        return view.headline, view.sentence, view.columns, view.dock
    return view


def find_place(view: PageView) -> tuple[object, ...]:
    """Give what tells a page from others: its title, its headline and its step."""
    steps = tuple(part.current for part in view.list_parts() if isinstance(part, Stages))
    return view.frame.title, view.headline, steps


def list_ways(view: PageView) -> Iterator[Button]:
    """List where else can be gone to, by name alone: the steps of a longer way."""
    for part in view.list_parts():
        if isinstance(part, Stages):
            yield from part.steps


def number_offers(offers: tuple[Button, ...]) -> list[str]:
    """Word offers, each after its number."""
    return [f"={number} {_join(each.label, CHOSEN if each.selected else '')}" for number, each in enumerate(offers, 1)]


def _word(part: Part) -> list[str]:
    """Say one part."""
    if isinstance(part, Prose):
        return [KEYS.sub("", part.text)]
    if isinstance(part, Sheet):
        return _word_sheet(part)
    if isinstance(part, Table):
        return (
            [_join(*row) for row in part.rows]
            if not part.head
            else [_join(*part.head), *(_join(*r) for r in part.rows)]
        )
    if isinstance(part, Items):
        return [_word_item(item) for item in part.items]
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
    if isinstance(part, Choices):
        return [f"d: {each.label}." for each in part.buttons if isinstance(each.intent, intents.OnlyWhatChanged)]
    if isinstance(part, Entry):
        return []  # the prompt comes last
    if isinstance(part, Advance):
        return [part.words]
    if isinstance(part, Stages):
        names = ", ".join(step.label for step in part.steps)
        return [
            f"Step {part.current + 1} of {len(part.steps)}: {part.steps[part.current].label}",
            f"Steps, by name: {names}",
        ]
    return []


def _word_sheet(sheet: Sheet) -> list[str]:
    """Say a sheet; a caption that a picture's description holds already is not said twice."""
    lines = [line for part in sheet.parts for line in _word(part)]
    return [sheet.title, *lines, *([] if any(sheet.caption in line for line in lines) else [sheet.caption])]


def number_version(number: int, label: str) -> str:
    """Word a version by its number, and by its label where that says more."""
    return str(number) if label == str(number) else f"{number} ({label})"


def _offer_item(item: PlanItem) -> Button:
    return Button(_join(item.title, item.note), item.intent)


def _word_item(item: PlanItem) -> str:
    """Say an item; nothing where its title, which is among the offers, is all that there is."""
    told = _join(item.detail, item.amount, item.note)
    return _join(item.title, told) if told else ""


def _bare(label: str) -> str:
    """Leave a label's own number out."""
    return label.split(", ", 1)[-1]


def _join(*words: str) -> str:
    return "; ".join(word for word in words if word)
