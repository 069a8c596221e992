"""Typing in the real window on a virtual display, with the keys that the display sends."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator

import pytest

needs_display = pytest.mark.skipif(
    not (shutil.which("Xvfb") and shutil.which("xdotool")), reason="needs Xvfb and xdotool"
)


@pytest.fixture
def screen() -> Iterator[str]:
    """Start a virtual display on a free number."""
    command = ["Xvfb", "-displayfd", "1", "-screen", "0", "1280x800x24", "-nolisten", "tcp"]
    server = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    assert server.stdout is not None
    yield f":{server.stdout.readline().strip()}"
    server.terminate()
    server.wait(10)


@needs_display
def test_what_is_typed_arrives_once_and_whole(screen: str) -> None:
    """Letters, a digit, a space, ``?`` and a letter with an accent; Tab, Ctrl keys and F1 keep their meaning."""
    own = {"SDL_VIDEODRIVER": "x11", "SDL_AUDIODRIVER": "dummy", "SDL_VIDEO_X11_WMCLASS": "evenhand"}
    environment = {**os.environ, **own, "DISPLAY": screen, "PYGAME_HIDE_SUPPORT_PROMPT": "1"}
    window = subprocess.Popen(
        [sys.executable, "-m", "tests.ui.typewriter"], env=environment, stdout=subprocess.PIPE, text=True
    )

    def send(*words: str) -> subprocess.CompletedProcess[bytes]:
        return subprocess.run(["xdotool", *words], env=environment, capture_output=True)

    try:
        end = time.monotonic() + 30
        while not send("search", "--class", "evenhand").stdout.strip() and time.monotonic() < end:
            time.sleep(0.1)
        time.sleep(1.0)
        send("mousemove", "400", "400")
        send("type", "--delay", "80", "k1 ?")
        send("type", "--delay", "400", "é")  # it borrows a key for it, which takes a moment to be known
        send("key", "--delay", "80", "BackSpace", "ctrl+BackSpace", "Tab", "ctrl+t", "F1", "Escape")
        said, _ = window.communicate(timeout=20)
    finally:
        window.kill()
    assert said.splitlines() == [
        *(f"TypeText(text={sign!r})" for sign in "k1 ?é"),
        "EraseText(whole=False)",
        "EraseText(whole=True)",
        "CompleteText()",
        "ChangeTheme()",
        "ToggleKeys()",
        "GoBack()",
    ]
