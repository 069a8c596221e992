"""The two ends of a song and their fades in words."""

from __future__ import annotations

import math

from trainer.decisions.fade_steps import begins_on_bar, find_curve
from trainer.decisions.mix_jobs import EdgeHeard
from trainer.decisions.reasons import FAULT_NAMES
from trainer.decisions.sheet import Decision, Fades, Tempo
from trainer.decisions.sheet_words import write_tempo
from trainer.decisions.song_edges import INAUDIBLE_LUFS, Edge, SongEdges
from trainer.units import begin_large, write_amount, write_moment, write_number

CURVE_NAMES = {"raised_cosine": "raised cosine", "linear": "linear", "equal_power": "equal power"}
# What is softer than this is read as nothing: 20 bits end there.
NOTHING_DBFS = -120.0
DECIDED: dict[Decision, str] = {
    "mix": "It goes back to the mix.",
    "keep": "It stays as it is.",
    "open": "No fade is taken.",
    "leave": "The fade is taken.",
}


def describe_end(edge: Edge, edges: SongEdges) -> tuple[str, ...]:
    """Say what was found at one end."""
    return _describe_head(edges) if edge == "head" else _describe_tail(edges)


def write_fade(fades: Fades, edge: Edge, on_bar: bool = False) -> str:
    """Write where one end is cut and how it is faded, and whether from a bar line."""
    curve = CURVE_NAMES[find_curve(fades, edge)]
    if edge == "head":
        faded = f"fade in over {_write_length(fades.fade_in_s)}, {curve}" if fades.fade_in_s else "no fade in"
        return f"starts at {write_moment(fades.start_s)}, {faded}"
    end = "ends with the file" if fades.end_s is None else f"ends at {write_moment(fades.end_s)}"
    if not fades.fade_out_s:
        return f"{end}, no fade"
    return f"{end}, fade out over {_write_length(fades.fade_out_s)}, {curve}{', from a bar line' if on_bar else ''}"


def tell_tempo(tempo: Tempo) -> str:
    """Say how bars are counted."""
    first, length = (write_number(value, 2) for value in tempo.bars)
    return f"{begin_large(write_tempo(tempo))}: bars of {length} s, counted from the first sound, at {first} s."


def tell_reach(
    fades: Fades, edge: Edge, edges: SongEdges, duration_s: float, tempo: Tempo | None = None
) -> tuple[str, ...]:
    """Say what a fade is, and how it lies to the music or to the end of the room."""
    on_bar = edge == "tail" and tempo is not None and begins_on_bar(fades, duration_s, tempo.bars)
    said = f"{begin_large(write_fade(fades, edge, on_bar))}."
    if edge == "head":
        spare_s = edges.music_from_s - fades.start_s - fades.fade_in_s
        if spare_s < 0:
            return said, f"It reaches {_write_length(-spare_s)} into the music."
        return said, f"It is over {_write_length(spare_s)} before the first sound."
    end_s = duration_s if fades.end_s is None else fades.end_s
    if edges.room_ends_s is None:
        return said, "The file ends before its room does: no fade brings that back."
    if end_s < edges.room_ends_s:
        return said, f"It cuts the room off {_write_length(edges.room_ends_s - end_s)} before it ends."
    spare_s = end_s - fades.fade_out_s - edges.room_ends_s
    if spare_s < 0:
        return said, f"It begins {_write_length(-spare_s)} before the room ends, and ends behind it."
    return said, f"It begins {_write_length(spare_s)} after the room has ended."


def word_measured(heard: EdgeHeard, duration_s: float) -> tuple[tuple[str, ...], ...]:
    """Word what one end measures, with the fade and as it is: a row to a quantity, the same at both ends."""
    checks = (heard.faded, heard.plain)
    head = heard.edge == "head"
    where = "first" if head else "last"
    peaks = [check.first_dbfs if head else check.last_dbfs for check in checks]
    steps = [check.first_step_dbfs if head else check.last_step_dbfs for check in checks]
    cuts = [check.cut_before_lufs if head else check.cut_lufs for check in checks]
    found = [
        [FAULT_NAMES[each.kind] for each in check.faults if (each.start_s < duration_s / 2) == head] for check in checks
    ]
    return (
        (f"Peak of the {where} millisecond", *(_write_level(value, "dBFS") for value in peaks)),
        ("Largest step there", *(_write_level(value, "dBFS") for value in steps)),
        ("Loudest of what is cut away", *(_write_level(value, "LUFS") for value in cuts)),
        ("Cuts, noise, new clicks", *(", ".join(dict.fromkeys(names)) or "none" for names in found)),
    )


def _describe_head(edges: SongEdges) -> tuple[str, ...]:
    """Say where the music starts, and what lies before it."""
    first = f"The music starts at {write_moment(edges.music_from_s)}."
    if edges.head_noise_lufs is None:
        return (first, "Before it there is silence." if edges.music_from_s > 0 else "There is nothing before it.")
    under = write_number(edges.song_lufs - edges.head_noise_lufs, 0)
    return first, f"Before it lies noise of {write_number(edges.head_noise_lufs)} LUFS, {under} LU under the song."


def _describe_tail(edges: SongEdges) -> tuple[str, ...]:
    """Say how the last sound dies away, and what is left."""
    last = write_moment(edges.last_loud_s)
    lines = []
    if edges.decay_db_per_s is not None:
        rate = write_amount(edges.decay_db_per_s)
        lines.append(f"After the last loud moment, at {last}, it falls by about {rate} dB a second.")
    else:
        lines.append(f"The last loud moment is at {last}.")
    if edges.room_ends_s is None:
        lines.append(f"The file ends before the room does, at {write_number(edges.floor_lufs)} LUFS.")
        return tuple(lines)
    after = write_number(max(0.0, edges.room_ends_s - edges.last_loud_s), 1)
    silent = edges.floor_lufs <= INAUDIBLE_LUFS
    left = "silence" if silent else f"noise of {write_number(edges.floor_lufs)} LUFS"
    lines.append(f"The room ends {after} s later, at {write_moment(edges.room_ends_s)}; then {left} is left.")
    return tuple(lines)


def _write_length(length_s: float) -> str:
    """Write a short time: in ms below a second."""
    if length_s < 0.9995:
        return f"{write_number(1000 * length_s, 0)} ms"
    return f"{write_number(length_s, 2).rstrip('0').rstrip('.')} s"


def _write_level(level: float, unit: str) -> str:
    """Write a level; none below what can be told."""
    if not math.isfinite(level) or level < NOTHING_DBFS:
        return "nothing" if unit == "LUFS" else f"under {write_number(NOTHING_DBFS, 0)} {unit}"
    return f"{write_number(level)} {unit}"
