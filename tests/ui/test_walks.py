"""Whole ways through the program in the real window, with the keys and the clicks that a display sends."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from typing import Any

import pytest

from tests.ui.test_display import needs_display, screen
from trainer.session.intents import Do, GiveAnswer, GoOn, GoTo, Intent, Listen, StartDrill

__all__ = ["screen"]

RIGHT, WRONG = "Yes. It was 2.", "No. It was 2. You said 1."


class Walk:
    """A window, what it showed last, and a hand for its keys and its mouse."""

    def __init__(self, display: str) -> None:
        self._environment = {**os.environ, "SDL_VIDEODRIVER": "x11", "SDL_AUDIODRIVER": "dummy", "DISPLAY": display}
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tests.ui.walker"], env=self._environment, stdout=subprocess.PIPE, text=True
        )
        self._shown: dict[str, Any] = {"words": [], "offers": {}}
        self._window = ""
        threading.Thread(target=self._read, daemon=True).start()

    def see(self, *words: str) -> None:
        """Wait until these words are shown."""
        end = time.monotonic() + 30
        while not set(words) <= set(self._shown["words"]):
            assert time.monotonic() < end and self.process.poll() is None, (words, self._shown["words"])
            time.sleep(0.01)

    def press(self, *keys: str) -> None:
        """Press keys."""
        self._send("key", *keys)

    def write(self, text: str) -> None:
        """Type a text."""
        self._send("type", "--delay", "15", text)

    def click(self, intent: Intent) -> None:
        """Click the middle of an offer."""
        x, y = self._shown["offers"][repr(intent)]
        self._window = self._window or self._send("search", "--class", "evenhand").split()[-1]
        self._send("mousemove", "--window", self._window, str(x), str(y), "click", "1")

    def _send(self, *words: str) -> str:
        return subprocess.run(["xdotool", *words], env=self._environment, capture_output=True, text=True).stdout

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self._shown = json.loads(line)


@pytest.fixture
def walk(screen: str) -> Iterator[Walk]:
    """Open the window; the pointer is in it, as keys go where the pointer is."""
    walk = Walk(screen)
    try:
        walk.see("Start")
        walk._send("mousemove", "600", "400")
        yield walk
    finally:
        walk.process.kill()
        walk.process.wait(10)


@needs_display
def test_a_run_by_keys_a_run_by_mouse_and_the_first_pages_of_a_mix(walk: Walk) -> None:
    """From Today to the end of a run and back, twice; then a mix is typed, opened, and led to its second step."""
    walk.press("Return")
    for key, said in (("2", RIGHT), ("1", WRONG)):
        walk.see("Which one is brighter?")
        walk.press(key, "Return")
        walk.see(said)
        walk.press("r")
        walk.see("largest difference in loudness")
        walk.press("Return")
    walk.see("Another run")
    walk.press("Return")
    walk.see("Start")

    walk.click(StartDrill("high_shelf_8k"))
    for number, said in ((2, RIGHT), (1, WRONG)):
        walk.see("Which one is brighter?")
        walk.click(Listen(number))
        walk.click(GiveAnswer(str(number)))
        walk.see(said)
        walk.click(GoOn())
    walk.see("Another run")
    walk.click(GoOn())
    walk.see("Start")

    walk.press("F4")
    walk.see("A finished mix")
    walk.write("/music/crane 4.wav")
    walk.see("/music/crane 4.wav")
    walk.press("Return")
    walk.see("First impression")
    walk.write("muddy")
    walk.see("muddy")
    walk.press("Return")
    walk.see("Second impression", "muddy")
    walk.click(Do("step", "listen_through"))
    walk.see("The pass")
    walk.click(GoTo("today"))
    walk.see("Start")
