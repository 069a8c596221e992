"""A weighing as one readable page: HTML that needs nothing else, with its figures drawn in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path
from typing import Any

from trainer.decisions.bounce_faults import FaultCount
from trainer.decisions.round_verdicts import confirm, judge_preference
from trainer.decisions.round_words import describe_confirmation, describe_round, describe_taken_back, head_round
from trainer.decisions.rounds import Round
from trainer.decisions.weighing_playback import PlaybackLevel, word_turn
from trainer.decisions.weighing_words import word_fault
from trainer.errors import BadValue
from trainer.files.check_page import STYLE
from trainer.files.svg import write_svg
from trainer.files.weigh_figure import draw_bands
from trainer.files.whole_file import write_whole
from trainer.units import write_number, write_spread, write_time

WIDTH, HEIGHT = 860.0, 220.0
# With more files, figures are drawn against the first one only.
MOST_FOR_ALL_PAIRS = 3
OWN_STYLE = "h3 { font-size: 15px; margin: 20px 0 4px; overflow-wrap: anywhere; }"


@dataclass(frozen=True)
class WeighReport:
    """Hold what a page of a weighing tells.

    Parameters
    ----------
    facts : dict
        As `list_weighing` gives them.
    rounds : tuple of Round
        All that are kept of these files, in their order.
    levels : tuple of PlaybackLevel
        Levels at which music is played.
    left_out : tuple of str
        A line for each file that could not be put on the beam.
    """

    facts: dict[str, Any]
    rounds: tuple[Round, ...]
    levels: tuple[PlaybackLevel, ...]
    left_out: tuple[str, ...] = ()

    @property
    def names(self) -> dict[str, str]:
        """What each file is called: its name, or its path where two have one name."""
        files = [str(found["file"]) for found in self.facts["files"]]
        short = [Path(file).name for file in files]
        return {file: file if short.count(name) > 1 else name for file, name in zip(files, short, strict=True)}


def write_weigh_page(path: Path, report: WeighReport) -> None:
    """Write the page.

    Parameters
    ----------
    path : Path
        Its place; folders on the way are made.
    report : WeighReport
        What it tells.

    Raises
    ------
    BadValue
        If it cannot be written.
    """
    try:
        with write_whole(path, synced=False) as beside:
            beside.write_text(make_weigh_page(report), encoding="utf-8")
    except OSError as error:
        reason = (error.strerror or type(error).__name__).lower()
        raise BadValue("weigh", "--page", path, f"a place that can be written ({reason})") from None


def make_weigh_page(report: WeighReport) -> str:
    """Make the page's text."""
    facts, title = report.facts, ", ".join(report.names.values())
    stretch = facts["stretch"]
    span = f"{write_time(stretch['start_s'])} to {write_time(stretch['end_s'])} of the first"
    parts = [
        f"<h1>{escape(title)}</h1>",
        f'<p class="muted">Weighed: {span}, equally loud within {write_spread(facts["spread_lu"])}</p>',
        *_tell_places(report),
        *_tell_loudness(report),
        *_tell_differences(report),
        *_list("Faults only in one of them", _list_faults(report) or ["None found."]),
        *_tell_rounds(report.rounds),
        *(_list("Not on the beam", list(report.left_out)) if report.left_out else []),
    ]
    head = (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(title)}</title><style>{STYLE}\n{OWN_STYLE}</style></head><body><main>"
    )
    return "\n".join([head, *parts, "</main></body></html>"]) + "\n"


def _tell_places(report: WeighReport) -> list[str]:
    """Tell how each file lay, and what was put right to compare it."""
    parts = ["<h2>Put in step</h2>"]
    for found in report.facts["files"]:
        parts += [f"<h3>{escape(report.names[found['file']])}</h3>", *_bullets(found["sentences"])]
    return parts


def _tell_loudness(report: WeighReport) -> list[str]:
    """Tell how loud each file is, and how far it would be turned down at each level."""
    heads = ["File", "LUFS", "dBTP", *(f"at {write_number(level.aim_lufs, 0)} LUFS" for level in report.levels)]
    rows = []
    for found in report.facts["files"]:
        loudness, peak = found["integrated_lufs"], found["true_peak_dbtp"]
        turns = ["–" if loudness is None else word_turn(level, loudness, peak) for level in report.levels]
        numbers = ["–" if value is None else write_number(value, 1) for value in (loudness, peak)]
        rows.append([report.names[found["file"]], *numbers, *turns])
    origins = [f"{write_number(level.aim_lufs, 0)} LUFS: {level.title}; {level.origin}." for level in report.levels]
    about = "Playback levels differ, change, and can be set by the listener: information, not a law. "
    return [
        "<h2>Loudness of the files, and how far each would be turned down</h2>",
        "<table>",
        _row(heads, "th"),
        *(_row(cells, "td") for cells in rows),
        "</table>",
        f"<p><small>{escape(about + ' '.join(origins))}</small></p>" if report.levels else "",
    ]


def _tell_differences(report: WeighReport) -> list[str]:
    """Tell what differs between every two, and draw the bands."""
    files = [found["file"] for found in report.facts["files"]]
    parts = ["<h2>What differs, equally loud</h2>"]
    for found in report.facts["differences"]:
        a, b = report.names[found["a"]], report.names[found["b"]]
        told = {word_fault(fault, name) for name, fault in _pair_faults(found, a, b)}
        parts.append(f"<h3>{escape(b)} against {escape(a)}</h3>")
        parts += _bullets([line for line in found["sentences"] if line not in told])
        if len(files) <= MOST_FOR_ALL_PAIRS or found["a"] == files[0]:
            bands = [(band["low_hz"], band["high_hz"], band["difference_db"]) for band in found["bands"]]
            about = f"What {b} holds more or less than {a}, equally loud, in third octaves."
            figure = write_svg(draw_bands(bands, about, WIDTH, HEIGHT), "paper")
            parts.append(f"<figure>{figure}<figcaption>{escape(about)}</figcaption></figure>")
    return parts


def _pair_faults(found: dict[str, Any], a: str, b: str) -> list[tuple[str, FaultCount]]:
    """Give the faults that only one of a pair has, with its name."""
    return [
        (name, FaultCount(**fault)) for name, key in ((a, "a"), (b, "b")) for fault in found[f"faults_only_in_{key}"]
    ]


def _list_faults(report: WeighReport) -> list[str]:
    """Word the faults of all pairs, each with the file that it is compared with."""
    lines = []
    for found in report.facts["differences"]:
        a, b = report.names[found["a"]], report.names[found["b"]]
        for name, fault in _pair_faults(found, a, b):
            lines.append(f"{word_fault(fault, name)} Against {b if name == a else a}.")
    return lines


def _tell_rounds(rounds: Sequence[Round]) -> list[str]:
    """Tell all rounds that are kept, and how far a favourite is confirmed."""
    parts = ["<h2>Heard blind</h2>"]
    if not any(held.complete for held in rounds):
        return [*parts, "<p>No round is kept of these files.</p>"]
    for held in rounds:
        when = f"{held.begun_at[:10]} {held.begun_at[11:16]}, on {held.setup}"
        if held.kind == "sighted":
            parts.append(f"<h3>{escape(when)}: heard with the names shown</h3>")
            parts += _bullets(["That is no test; what was asked after it is to be read with it in mind."])
        elif held.complete:
            parts.append(f"<h3>{escape(when)}: {escape(head_round(held))}</h3>")
            parts += _bullets([*_count_picks(held), *describe_round(held), *describe_taken_back(held)])
        else:
            parts.append(f"<h3>{escape(when)}: left after {len(held.answers)} of {len(held.asked)} answers</h3>")
    return parts + _list("How far that is confirmed", _word_confirmed(rounds) or ["There is no favourite yet."])


def _count_picks(held: Round) -> list[str]:
    """Count the picks of a round between two, which the window shows as bars."""
    if held.kind != "prefer":
        return []
    counts = judge_preference(held).counts
    words = [f"{held.names[place]} {count}" for place, count in zip(held.pair, counts, strict=True)]
    return [f"Picked: {', '.join(words)}."]


def _word_confirmed(rounds: Sequence[Round]) -> list[str]:
    """Say of every favourite how far it is confirmed."""
    names: dict[str, str] = {}
    for held in rounds:
        place = judge_preference(held).favourite if held.kind == "prefer" and held.complete else None
        if place is not None:
            names[held.versions[place]] = held.names[place]
    return [line for version, name in names.items() for line in describe_confirmation(confirm(rounds, version), name)]


def _list(title: str, lines: Sequence[str]) -> list[str]:
    return [f"<h2>{escape(title)}</h2>", *_bullets(lines)]


def _bullets(lines: Sequence[str]) -> list[str]:
    return ["<ul>", *(f"<li>{escape(line)}</li>" for line in lines), "</ul>"]


def _row(cells: Sequence[str], kind: str) -> str:
    return "<tr>" + "".join(f"<{kind}>{escape(cell)}</{kind}>" for cell in cells) + "</tr>"
