"""A program of its own for the tests: play by a list of steps, and tell as JSON what happened.

It takes the name of a JSON file with ``versions`` (an .npy file), ``rate_hz``, ``steps`` and, if wanted,
``library_error`` (loading sounddevice fails as it does where PortAudio is not installed), ``no_device``
(PortAudio has none) and ``describe`` (tell the facts of all outputs).
"""

from __future__ import annotations

import json
import os
import signal
import sys
import time
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np

POLL_S = 0.01


def hide_library() -> None:
    """Make `import sounddevice` raise what it raises without PortAudio."""

    class Finder:
        """Find nothing but trouble."""

        @staticmethod
        def find_spec(name: str, path: object = None, target: object = None) -> None:
            """Refuse the one module."""
            if name == "sounddevice":
                raise OSError("PortAudio library not found")

    sys.meta_path.insert(0, Finder)


def hide_devices() -> None:
    """Let PortAudio find no device, as on a computer without a sound card."""
    import sounddevice

    sounddevice.query_devices = list
    sounddevice.query_hostapis = list


def wait(player: Any, time_s: float) -> None:
    """Wait, looking at the position as a screen does."""
    end_s = time.monotonic() + time_s
    while time.monotonic() < end_s:
        player.position()
        time.sleep(POLL_S)


def wait_written(player: Any, frames: int) -> None:
    """Wait until SDL's disk driver has written so many frames more, 10 s at most."""
    written, end_s = Path(os.environ["SDL_DISKAUDIOFILE"]), time.monotonic() + 10.0
    goal = written.stat().st_size + 8 * frames
    while written.stat().st_size < goal and time.monotonic() < end_s:
        player.position()
        time.sleep(POLL_S / 5)


def wait_for_change(player: Any) -> None:
    """Wait until another kind of output is in use, 6 s at most."""
    kind, end_s = player.output.kind, time.monotonic() + 6.0
    while player.output.kind == kind and time.monotonic() < end_s:
        player.position()
        time.sleep(POLL_S)


def perform(player: Any, steps: list[list[Any]], versions: Any, rate_hz: int) -> list[dict[str, Any]]:
    """Take the steps; note the state after each "note"."""
    notes: list[dict[str, Any]] = []
    for name, *values in steps:
        if name == "load":
            player.load(versions, rate_hz)
        elif name == "load_at":
            player.load(versions, values[0])
        elif name == "wait":
            wait(player, values[0])
        elif name == "wait_written":
            wait_written(player, values[0])
        elif name == "wait_for_change":
            wait_for_change(player)
        elif name == "end_process":
            os.kill(values[0], signal.SIGKILL)
        elif name == "note":
            head, output = asdict(player.position()), asdict(player.output)
            notes.append({"head": head, "output": output, "time_s": time.monotonic()})
        else:
            getattr(player, name)(*values)
    return notes


def main() -> None:
    """Read, play, tell."""
    script = json.loads(Path(sys.argv[1]).read_text())
    if script.get("library_error"):
        hide_library()
    elif script.get("no_device"):
        hide_devices()
    from trainer.playback.chain import describe_outputs, open_player
    from trainer.playback.process import prepare_process

    prepare_process()
    versions = np.load(script["versions"])
    facts = [asdict(fact) for fact in describe_outputs()] if script.get("describe") else []
    player = open_player(script["rate_hz"])
    notes = perform(player, script["steps"], versions, script["rate_hz"])
    interruptions = player.take_interruptions()
    began_s = time.monotonic()
    player.close()
    report = {"notes": notes, "interruptions": interruptions, "close_s": time.monotonic() - began_s}
    print(json.dumps(report | {"facts": facts, "pygame_mixer": _mixer_runs()}))


def _mixer_runs() -> bool:
    """Tell whether pygame's own mixer was started."""
    pygame = sys.modules.get("pygame")
    return bool(pygame is not None and pygame.mixer.get_init())


if __name__ == "__main__":
    main()
