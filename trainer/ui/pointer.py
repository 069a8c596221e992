"""Where pointer, focus and scrolling are on the page that is shown."""

from __future__ import annotations

from collections.abc import Sequence

from trainer.session.intents import Intent
from trainer.session.pages import View
from trainer.ui.pen import Hit


class Pointer:
    """Remember the mouse, the focus and the scroll; forget focus and scroll when another page comes."""

    def __init__(self) -> None:
        self.at: tuple[int, int] | None = None
        self.focus: int | None = None
        self.scroll = 0
        self._page: tuple[object, ...] = ()

    def turn_to(self, view: View) -> None:
        """Take note of the page that will be drawn."""
        names = ("headline", "question", "marks")
        page = (type(view), view.frame.title, view.frame.places, *(getattr(view, name, None) for name in names))
        if page != self._page:
            self._page, self.focus, self.scroll = page, None, 0

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

    def focused(self, hits: Sequence[Hit]) -> Intent | None:
        """Give the intent that has the focus."""
        offers = [hit.intent for hit in hits if hit.by_tab]
        return offers[self.focus] if self.focus is not None and self.focus < len(offers) else None
