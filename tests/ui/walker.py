"""The program in a window, in a world of stand-ins; it says what is shown and where: ``python -m tests.ui.walker``."""

from __future__ import annotations

import json
from pathlib import Path

from tests.fakes import FakeWorker, MemoryStore, make_world
from tests.session.test_mixes import OPENED
from trainer.files.library import list_drills
from trainer.session.screens import Program
from trainer.ui.pen import Pen
from trainer.ui.window import Window


class Walked(Window):
    """Tells after each whole drawing what is written, and the middle of every offer."""

    _told: Pen | None = None

    def refresh(self) -> None:
        """Draw, and tell it once."""
        super().refresh()
        if self._pen is not None and self._pen is not self._told:
            self._told = self._pen
            offers = {repr(hit.intent): hit.box.center for hit in self.hits if hit.box.width}
            print(json.dumps({"words": [line.text for line in self._pen.written], "offers": offers}), flush=True)


if __name__ == "__main__":
    drills = list_drills(Path("none"))
    world = make_world(
        {"high_shelf_8k": drills["high_shelf_8k"]},
        store=MemoryStore(settings={"cautions_seen": "yes"}),
        worker=FakeWorker([OPENED]),
        trials=2,
    )
    Walked(Program(world)).run()
