"""What this computer offers the program, for `evenhand doctor`."""

from __future__ import annotations

import platform
from pathlib import Path
from typing import Any

from trainer import __version__
from trainer.app.world import DEFAULT_RATE_HZ, Conditions
from trainer.errors import EvenhandError
from trainer.files.folders import choose_data_folder, find_bundled, open_folder
from trainer.playback.chain import describe_outputs, open_player
from trainer.playback.tone import play_tone


def examine(conditions: Conditions, tone: bool) -> dict[str, Any]:
    """Examine sound, folders and fonts.

    Parameters
    ----------
    conditions : Conditions
        Where the data folder is.
    tone : bool
        Play a quiet test tone of 3 s and count interruptions.

    Returns
    -------
    dict
        Facts, each fault as one line.
    """
    player = open_player(DEFAULT_RATE_HZ)
    try:
        output = player.output
        facts: dict[str, Any] = {
            "program": __version__,
            "python": platform.python_version(),
            "system": platform.platform(terse=True),
            "output": {
                "kind": output.kind,
                "name": output.name,
                "rate_hz": output.rate_hz,
                "latency_s": round(output.latency_s, 4),
                "note": output.note,
            },
            "sound_libraries": [vars(found) | {"devices": list(found.devices)} for found in describe_outputs()],
            "folders": _examine_folders(conditions),
            "fonts": sorted(path.name for path in (Path(__file__).parents[1] / "ui" / "fonts").glob("*.ttf")),
        }
        if tone:
            facts["tone"] = {"heard": not output.silent, "interruptions": play_tone(player)}
    finally:
        player.close()
    return facts


def word_examination(facts: dict[str, Any]) -> list[str]:
    """Word the facts, a line each."""
    output = facts["output"]
    lines = [
        f"Evenhand {facts['program']}, Python {facts['python']}, {facts['system']}",
        f"sound goes to: {output['name']} ({output['kind']}), {output['rate_hz']} Hz, "
        f"{output['latency_s'] * 1000:.0f} ms",
    ]
    lines += [output["note"]] if output["note"] else []
    for library in facts["sound_libraries"]:
        state = library["fault"] or ", ".join(library["devices"][:6]) or "no outputs"
        lines.append(f"{library['kind']} {library['library']}: {state}")
    lines += [f"{name}: {state}" for name, state in facts["folders"].items()]
    lines.append(f"fonts: {', '.join(facts['fonts']) or 'missing; install Evenhand again'}")
    if "tone" in facts:
        heard = "A quiet tone was played for 3 s" if facts["tone"]["heard"] else "No output: the tone was not heard"
        lines.append(f"{heard}; interruptions: {facts['tone']['interruptions']}")
    return lines


def _examine_folders(conditions: Conditions) -> dict[str, str]:
    """Say where the folders are, or what is wrong with them."""
    found = {}
    for name in ("exercises", "audio_demo"):
        try:
            found[name] = str(find_bundled(name))
        except EvenhandError as error:
            found[name] = str(error)
    try:
        found["data"] = str(open_folder(choose_data_folder(conditions.data), "data folder"))
    except EvenhandError as error:
        found["data"] = str(error)
    return found
