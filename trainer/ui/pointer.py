"""Where pointer, focus and scrolling are on the page that is shown."""

from __future__ import annotations

from collections.abc import Sequence

from trainer.session.intents import Intent
from trainer.session.pages import PageView, Sheet, Stages, View
from trainer.ui.pen import Hit


class Pointer:
    """Remember the mouse, the focus and the scroll; forget focus and scroll when another page comes."""

    def __init__(self) -> None:
        self.at: tuple[int, int] | None = None
        self.focus: int | None = None
        self.scroll = 0
        self._page: tuple[object, ...] = ()
        self._marks: object = None

    def turn_to(self, view: View) -> bool:
        """Take note of the page that will be drawn, and tell whether it is another one than before.

        What is decided on a page changes what stands on it, not which page it is; the next question of a round
        stands where the one before stood.
        """
        page, marks = _name_page(view), getattr(view, "marks", None)
        turned = page != self._page
        if turned:
            self._page, self.scroll = page, 0
        if turned or marks != self._marks:
            self._marks, self.focus = marks, None
        return turned

    def find(self, hits: Sequence[Hit]) -> Hit | None:
        """Give the offer under the mouse, the one on top."""
        if self.at is None:
            return None
        return next((hit for hit in reversed(hits) if hit.box.collidepoint(self.at)), None)

    def move_focus(self, hits: Sequence[Hit], step: int, first: int = 0) -> None:
        """Move the focus to the next (+1) or the previous (-1) offer, round at the ends.

        It begins at the page's own ``first`` offer; those of the head, before it, come last.
        """
        count = sum(hit.by_tab for hit in hits)
        if not count:
            self.focus = None
        elif self.focus is None:
            self.focus = (first if step > 0 else first - 1) % count
        else:
            self.focus = (self.focus + step) % count

    def move_among(self, hits: Sequence[Hit], intents: Sequence[Intent], step: int) -> bool:
        """Move the focus along some of the offers, in their order; before the first one there is none."""
        stops = [hit.intent for hit in hits if hit.by_tab]
        places = [place for place, intent in enumerate(stops) if intent in intents]
        if not places or (self.focus is None and step < 0):
            return False
        at = places.index(self.focus) + step if self.focus in places else 0
        self.focus = places[min(at, len(places) - 1)] if at >= 0 else None
        return True

    def focused(self, hits: Sequence[Hit]) -> Intent | None:
        """Give the intent that has the focus."""
        offers = [hit.intent for hit in hits if hit.by_tab]
        return offers[self.focus] if self.focus is not None and self.focus < len(offers) else None


def _name_page(view: View) -> tuple[object, ...]:
    """Name a page by what stays while things are decided on it: its titles, its step, and its first sheet."""
    name = (type(view), view.frame.title, view.frame.places, getattr(view, "headline", getattr(view, "question", "")))
    if not isinstance(view, PageView):
        return name
    parts = (*(part for column in view.columns for part in column), *view.dock)
    first = next((part.title for part in parts if isinstance(part, Sheet)), "")
    return (*name, first, tuple(part.current for part in view.list_parts() if isinstance(part, Stages)))
