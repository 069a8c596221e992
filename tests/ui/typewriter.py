"""A page that takes text, in a window of its own, which says what was wanted: ``python -m tests.ui.typewriter``."""

from __future__ import annotations

from dataclasses import replace

from tests.ui import sample_pages
from tests.ui.test_window import Script
from trainer.session.intents import GoBack, Intent, TypeText
from trainer.session.pages import Choices, Entry, PageView
from trainer.session.view import Button
from trainer.ui.window import Window


class Typewriter(Script):
    """Keeps what is typed, and ends with Esc."""

    @property
    def finished(self) -> bool:
        """Tell whether Esc was pressed."""
        return GoBack() in self.wanted

    def act(self, intent: Intent) -> None:
        """Say what is wanted, and show the line with what was typed."""
        super().act(intent)
        print(repr(intent), flush=True)
        typed = "".join(each.text for each in self.wanted if isinstance(each, TypeText))
        assert isinstance(self.shown, PageView)
        self.shown = replace(self.shown, columns=((Entry("File", typed, "", (Button("crane_a.wav", intent),)),),))


if __name__ == "__main__":
    begin = Choices((Button("Open it", GoBack()),))
    entry = Entry("File", "", "a file", (Button("crane_a.wav", GoBack()),))
    Window(Typewriter(replace(sample_pages.choose_file(), columns=((entry, begin),)))).run()
