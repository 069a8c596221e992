"""Whether the values of a sheet's document fit together."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from trainer.decisions.sheet_kinds import name_nearest
from trainer.dsp.move import Parameter
from trainer.dsp.moves import MOVES
from trainer.errors import BadValue

LIMITER_MOVE = "song_push"
# The drive belongs to the rung.
LIMITER_SETTINGS = {item.name: item for item in MOVES[LIMITER_MOVE].parameters if item.name != "drive_db"}
LIMITER_NEEDS = ("ceiling_dbtp", "release_ms", "slow_release_ms")

Values = Mapping[str, Any]


def check_order(values: Values, where: str, faults: list[BadValue]) -> None:
    """See that something does not end before it starts."""
    start_s, end_s = values.get("start_s"), values.get("end_s")
    if start_s is not None and end_s is not None and end_s < start_s:
        faults.append(BadValue(where, "end_s", end_s, f"start_s, {start_s:g}, or more"))


def check_fades(values: Values, where: str, faults: list[BadValue]) -> None:
    """See that the fades fit into what is kept."""
    check_order(values, where, faults)
    if values.get("end_s") is None or not {"start_s", "fade_in_s", "fade_out_s"} <= set(values):
        return
    kept_s = values["end_s"] - values["start_s"]
    if 0 <= kept_s < values["fade_in_s"] + values["fade_out_s"]:
        faults.append(BadValue(where, "fade_out_s", values["fade_out_s"], f"both fades within {kept_s:g} s"))


def check_candidate(values: Values, where: str, faults: list[BadValue]) -> None:
    """See that the move has all its settings, each within its bounds."""
    if "move" in values and "settings" in values:
        known = {parameter.name: parameter for parameter in MOVES[values["move"]].parameters}
        check_settings(values["settings"], known, tuple(known), f"{where}, settings", faults)


def check_loudness(values: Values, where: str, faults: list[BadValue]) -> None:
    """See that the chosen rung exists, and that the limiter's settings are its own."""
    if values.get("chosen") is not None and "rungs" in values and values["chosen"] >= len(values["rungs"]):
        count = len(values["rungs"])
        there = f"1 to {count}, a rung that there is, or null" if count else "null, as there are no rungs"
        faults.append(BadValue(where, "chosen", values["chosen"] + 1, there))
    if "settings" in values:
        needed = LIMITER_NEEDS if values.get("rungs") or values["settings"] else ()
        check_settings(values["settings"], LIMITER_SETTINGS, needed, f"{where}, settings", faults)


def check_settings(
    settings: Mapping[str, float],
    known: Mapping[str, Parameter],
    needed: tuple[str, ...],
    where: str,
    faults: list[BadValue],
) -> None:
    """See that settings are known, complete and within bounds."""
    for name in settings:
        if name not in known:
            faults.append(BadValue(where, name, settings[name], f"no such setting, but {name_nearest(name, known)}"))
    for name, parameter in known.items():
        if name not in settings:
            if name in needed:
                faults.append(BadValue(where, name, "missing", "this setting"))
            continue
        value = settings[name]
        if not parameter.low <= value <= parameter.high:
            faults.append(BadValue(where, name, value, f"{parameter.low:g} to {parameter.high:g} {parameter.unit}"))
        elif parameter.choices and value not in parameter.choices:
            faults.append(BadValue(where, name, value, f"one of {', '.join(f'{one:g}' for one in parameter.choices)}"))


def check_sheet(values: Values, where: str, faults: list[BadValue]) -> None:
    """See that nothing is kept, or was heard, from behind the song's end."""
    mix, fades, heard_s = values.get("mix"), values.get("fades"), values.get("heard_to_s")
    if mix is None:
        return
    if heard_s is not None and heard_s > mix.duration_s:
        faults.append(BadValue(where, "heard_to_s", heard_s, f"{mix.duration_s:g} at most, the mix's end"))
    tempo = values.get("tempo")
    if tempo is not None and tempo.first_s > mix.duration_s:
        expected = f"{mix.duration_s:g} at most, the mix's end"
        faults.append(BadValue(f"{where}, tempo", "first_s", tempo.first_s, expected))
    if fades is None:
        return
    for name, value in (("start_s", fades.start_s), ("end_s", fades.end_s)):
        if value is not None and value > mix.duration_s:
            faults.append(BadValue(f"{where}, fades", name, value, f"{mix.duration_s:g} at most, the mix's end"))
    kept_s = mix.duration_s - fades.start_s
    if fades.end_s is None and 0 <= kept_s < fades.fade_in_s + fades.fade_out_s:
        faults.append(BadValue(f"{where}, fades", "fade_out_s", fades.fade_out_s, f"both fades within {kept_s:g} s"))
