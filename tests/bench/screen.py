"""A display that nobody sees, watched and typed on from outside: no hook in the program is needed to time it."""

from __future__ import annotations

import ctypes
import mmap
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import numpy.typing as npt

from tests.cli.command import make_environment
from trainer.store.history import SqliteStore

Pixels = npt.NDArray[np.uint32]
SCREEN = "1280x800x24"
POLL_S = 0.001
ROCKING_ROWS = 15
# Every second column and every third row are enough to see that text or a pill has changed.
SPARSE = (slice(None, None, 3), slice(None, None, 2))


class Screen:
    """A running X server whose picture lies in a file.

    Parameters
    ----------
    name : str
        The display's name, such as ``:7``.
    folder : Path
        Where the server keeps its picture, in the form of `xwd`.
    """

    def __init__(self, name: str, folder: Path) -> None:
        self.name = name
        with (folder / "Xvfb_screen0").open("rb") as file:
            held = mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)
        head = np.frombuffer(held, ">u4", 25)
        width, height, colours, line = int(head[4]), int(head[5]), int(head[19]), int(head[12])
        start = int(head[0]) + 12 * colours
        lines: Pixels = np.frombuffer(held, np.uint32, height * line // 4, start).reshape(height, line // 4)
        self._pixels = lines[:, :width][SPARSE]
        self._x11 = ctypes.CDLL("libX11.so.6")
        self._test = ctypes.CDLL("libXtst.so.6")
        self._x11.XOpenDisplay.restype = ctypes.c_void_p
        self._display = ctypes.c_void_p(self._x11.XOpenDisplay(name.encode()))

    def read(self) -> Pixels:
        """Give the picture as it is now, every few pixels."""
        return self._pixels.copy()

    def press(self, key: str) -> float:
        """Press and release a key, by its X name; gives the moment at which the server was told, s."""
        code = self._x11.XKeysymToKeycode(self._display, ctypes.c_ulong(self._x11.XStringToKeysym(key.encode())))
        at_s = time.perf_counter()
        for down in (1, 0):
            self._test.XTestFakeKeyEvent(self._display, code, down, ctypes.c_ulong(0))
        self._x11.XFlush(self._display)
        return at_s

    def wait_for(self, what: Callable[[Pixels], bool], limit_s: float) -> float | None:
        """Wait until the picture is so; gives the moment, s, or None at the limit."""
        end_s = time.perf_counter() + limit_s
        while (now_s := time.perf_counter()) < end_s:
            if what(self._pixels):
                return now_s
            time.sleep(POLL_S)
        return None

    def find_moving_rows(self, length_s: float) -> npt.NDArray[np.bool_]:
        """Find the rows in which anything moves by itself, such as the playhead's."""
        before = self.read()
        moving = np.zeros(before.shape[0], dtype=bool)
        end_s = time.perf_counter() + length_s
        while time.perf_counter() < end_s:
            moving |= (self._pixels != before).any(axis=1)
            time.sleep(0.02)
        return moving

    def wait_for_loop(self, limit_s: float) -> bool:
        """Wait until a loop sounds; its playhead moves on more rows than the balance that rocks before it."""
        end_s = time.perf_counter() + limit_s
        while time.perf_counter() < end_s:
            if self.find_moving_rows(1.0).sum() > ROCKING_ROWS:
                return True
        return False


@contextmanager
def open_screen() -> Iterator[Screen]:
    """Run an X server for as long as the block lasts."""
    with tempfile.TemporaryDirectory(prefix="evenhand-") as folder:
        server = subprocess.Popen(
            ["Xvfb", "-displayfd", "1", "-screen", "0", SCREEN, "-nolisten", "tcp", "-fbdir", folder],
            stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
        )  # fmt: skip
        try:
            assert server.stdout is not None
            yield Screen(f":{server.stdout.readline().strip()}", Path(folder))
        finally:
            server.terminate()
            server.wait(10)


@contextmanager
def run_program(screen: Screen, data: Path, *arguments: str) -> Iterator[subprocess.Popen[bytes]]:
    """Run a Python command on the screen for as long as the block lasts; its sound goes to SDL's null output.

    ``EVENHAND_OUTPUT`` chooses another output, such as ``portaudio`` where that leads somewhere.
    """
    sound = {} if "EVENHAND_OUTPUT" in os.environ else {"EVENHAND_OUTPUT": "sdl", "SDL_AUDIODRIVER": "dummy"}
    program = subprocess.Popen(
        [sys.executable, *arguments], env=make_environment(data, DISPLAY=screen.name, **sound),
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        yield program
    finally:
        program.kill()
        program.wait(20)


@contextmanager
def make_data_folder() -> Iterator[Path]:
    """Give a data folder of one who has been told the cautions."""
    with tempfile.TemporaryDirectory(prefix="evenhand-") as folder:
        data = Path(folder) / "data"
        data.mkdir()
        store = SqliteStore(data)
        store.write_setting("cautions_seen", "yes")
        store.close()
        yield data


def read_processor_s(process: int) -> float:
    """Read how long a process and its children have kept a processor busy, s (Linux)."""
    parts = Path(f"/proc/{process}/stat").read_text().rsplit(")", 1)[1].split()
    busy_s = (int(parts[11]) + int(parts[12])) / os.sysconf("SC_CLK_TCK")
    children = Path(f"/proc/{process}/task/{process}/children").read_text().split()
    return busy_s + sum(read_processor_s(int(child)) for child in children)


def shows_something(now: Pixels) -> bool:
    """Tell whether most of the screen is light, and something stands on it."""
    light = float(((now & 0xFF) > 0xC0).mean())
    return 0.4 < light < 0.999


def is_possible() -> bool:
    """Tell whether this machine can do that, and say so if not."""
    possible = sys.platform == "linux" and shutil.which("Xvfb") is not None
    if not possible:
        print("Xvfb is not installed: nothing can be timed on a screen")
    return possible


def print_against(name: str, found: float, unit: str, most: float) -> None:
    """Print what was found beside what is demanded."""
    print(f"{name:44s} {found:6.1f} {unit}, at most {most:g} {unit} wished: {'met' if found <= most else 'MISSED'}")
