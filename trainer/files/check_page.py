"""A check as one readable page: HTML that needs nothing else, with pictures drawn in it."""

from __future__ import annotations

from html import escape
from pathlib import Path
from typing import Any

from trainer.decisions.check_words import word_coded, word_fault
from trainer.decisions.facts import word_facts
from trainer.decisions.pictures import CheckPictures
from trainer.errors import BadValue
from trainer.files.svg import write_svg
from trainer.files.whole_file import write_whole
from trainer.session.figure import Figure
from trainer.session.file_charts import loudness_over_time, third_octave_levels, wave_with_faults
from trainer.session.palette import word_colour

WIDTH, HEIGHT = 860.0, 230.0
MOST_FAULTS = 100
WORDS = {"pass": ("pass", "green"), "warn": ("warning", "amber"), "fail": ("fail", "vermilion")}
STYLE = """
body { font: 16px/1.5 Lato, system-ui, sans-serif; background: #f7f3ea; color: #21252e; margin: 0; }
main { max-width: 900px; margin: 0 auto; padding: 32px 24px; font-variant-numeric: tabular-nums; }
h1 { font-weight: 300; font-size: 30px; margin: 0 0 4px; overflow-wrap: anywhere; }
h2 { font-size: 17px; margin: 32px 0 8px; }
figure { margin: 0; } svg { max-width: 100%; height: auto; } figcaption { color: #62605a; font-size: 14px; }
table { border-collapse: collapse; width: 100%; font-size: 15px; }
td, th { text-align: left; vertical-align: top; padding: 6px 12px 6px 0; border-bottom: 1px solid #ded7ca; }
small, .muted { color: #62605a; font-size: 14px; } li { margin: 2px 0; }
""".strip()


def write_check_page(path: Path, check: dict[str, Any], pictures: CheckPictures) -> None:
    """Write the page.

    Parameters
    ----------
    path : Path
        Its place; folders on the way are made.
    check : dict
        What `evenhand check --json` gives of one file.
    pictures : CheckPictures
        The series to be drawn.

    Raises
    ------
    BadValue
        If it cannot be written.
    """
    try:
        with write_whole(path, synced=False) as beside:
            beside.write_text(make_page(check, pictures), encoding="utf-8")
    except OSError as error:
        reason = (error.strerror or type(error).__name__).lower()
        raise BadValue("check", "--page", path, f"a place that can be written ({reason})") from None


def make_page(check: dict[str, Any], pictures: CheckPictures) -> str:
    """Make the page's text."""
    name = Path(check["file"]).name
    judged = "" if check["verdict"] is None else f" · {check['target']}: {_outcome(check['verdict'])}"
    parts = [
        f"<h1>{escape(name)}</h1>",
        f'<p class="muted">Delivery check{judged}</p>',
        *_draw(pictures),
        *_table("Verdicts", check["verdicts"]),
        *_table("As a mix to be mastered", check.get("intake", [])),
        *_list("Faults", [word_fault(fault) for fault in check["faults"][:MOST_FAULTS]] or ["None found."]),
        *_list("Figures", [line.strip() for line in word_facts(check | {"notes": []})[1:]]),
        *(_list("Coding", [word_coded(peak) for peak in check["coded"]]) if check["coded"] else []),
        *(_list("Notes", check["notes"]) if check["notes"] else []),
    ]
    head = (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(name)}</title><style>{STYLE}</style></head><body><main>"
    )
    return "\n".join([head, *parts, "</main></body></html>"]) + "\n"


def _draw(pictures: CheckPictures) -> list[str]:
    """Draw wave, loudness and spectrum."""
    length = pictures.duration_s
    wave = wave_with_faults(pictures.peaks, pictures.faults[:MOST_FAULTS], length, WIDTH, HEIGHT)
    loudness = loudness_over_time(
        pictures.loudness_s,
        pictures.short_term_lufs,
        length,
        pictures.integrated_lufs,
        pictures.aim_lufs,
        WIDTH,
        HEIGHT,
    )
    spectrum = third_octave_levels(pictures.bands, WIDTH, HEIGHT)
    captions = (
        (wave, "Peaks over time; crosses mark faults."),
        (loudness, "Short-term loudness: the 3 s before each moment. Information, not a law."),
        (spectrum, "Long-term spectrum in third octaves."),
    )
    return [_figure(figure, caption) for figure, caption in captions]


def _figure(figure: Figure, caption: str) -> str:
    return f"<figure>{write_svg(figure, 'paper')}<figcaption>{escape(caption)}</figcaption></figure>"


def _table(title: str, rows: list[dict[str, Any]]) -> list[str]:
    """Make a table of outcomes with reasons, worst first."""
    if not rows:
        return []
    order = ("fail", "warn", "pass")
    lines = [
        f"<tr><td>{_outcome(row['verdict'])}</td><td>{escape(row['reason'])}"
        + (f"<br><small>{escape(row['next'])}</small>" if row["next"] else "")
        + (f"</td><td><small>{escape(_origin(row))}</small>" if "source" in row else "")
        + "</td></tr>"
        for row in sorted(rows, key=lambda row: order.index(row["verdict"]))
    ]
    return [f"<h2>{escape(title)}</h2>", "<table>", *lines, "</table>"]


def _list(title: str, lines: list[str]) -> list[str]:
    return [f"<h2>{escape(title)}</h2>", "<ul>", *(f"<li>{escape(line)}</li>" for line in lines), "</ul>"]


def _outcome(outcome: str) -> str:
    word, role = WORDS[outcome]
    colour = "#{:02x}{:02x}{:02x}".format(*word_colour("paper", role))  # type: ignore[arg-type]
    return f'<strong style="color:{colour}">{word}</strong>'


def _origin(row: dict[str, Any]) -> str:
    return f"{row['status'].replace('_', ' ')}: {row['source']}, {row['date']}"
