"""A page in words: its parts, what it asks for, and what it offers by number."""

from __future__ import annotations

from collections.abc import Iterator

from trainer.session import intents
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
)
from trainer.session.view import Button, PlanItem
from trainer.units import write_number

DONE_HELP = "done ends it, and everything marked is kept."


def word_page(view: PageView) -> list[str]:
    """Word what a page says, in the order in which it is read."""
    words = [view.headline, view.sentence]
    for column in (*view.columns, view.dock):
        for part in column:
            words += _word(part)
    return [line for line in words if line]


def word_prompt(view: PageView) -> list[str]:
    """Word what a page asks to be typed; nothing where it takes no text."""
    lines = []
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


def list_ways(view: PageView) -> Iterator[Button]:
    """List where else can be gone to, by name alone: the steps of a longer way."""
    for part in view.list_parts():
        if isinstance(part, Stages):
            yield from part.steps


def number_offers(offers: tuple[Button, ...]) -> list[str]:
    """Word offers, each after its number."""
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
