"""The decision sheet as one page to print: HTML that needs nothing else, with its pictures drawn in it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from html import escape
from pathlib import Path
from typing import Any

from trainer.decisions.bounce import make_push
from trainer.decisions.candidate_words import describe_state, title_candidate
from trainer.decisions.reasons import NAMES
from trainer.decisions.sheet import Candidate, Sheet
from trainer.decisions.sheet_checks import LIMITER_MOVE
from trainer.decisions.sheet_definitions import choose_definitions
from trainer.decisions.sheet_pictures import gather_equaliser_curve, gather_rung_costs
from trainer.decisions.sheet_words import (
    COSTS,
    aim_for,
    explain_rounds,
    list_last_stages,
    name_figure,
    tell_heard,
    word_findings,
    word_limit,
)
from trainer.decisions.target import Rule, Target
from trainer.errors import BadValue
from trainer.exercise.quantities import QUANTITIES, describe_quantity
from trainer.files.sheet_charts import draw_equaliser, draw_rung_costs
from trainer.files.svg import write_svg
from trainer.files.whole_file import write_whole
from trainer.units import begin_large, write_number, write_time

WIDTH, EQUALISER_HEIGHT, RUNGS_HEIGHT = 680.0, 200.0, 240.0
STYLE = """
@page { size: A4; margin: 14mm; }
body { font: 15px/1.45 Lato, system-ui, sans-serif; background: #f7f3ea; color: #21252e; margin: 0; }
main { max-width: 760px; margin: 0 auto; padding: 32px 24px; font-variant-numeric: tabular-nums; }
h1 { font-weight: 300; font-size: 30px; margin: 0 0 4px; overflow-wrap: anywhere; }
h2 { font-size: 17px; margin: 28px 0 6px; border-bottom: 2px solid #21252e; break-after: avoid; }
h3 { font-size: 15px; margin: 14px 0 2px; break-after: avoid; }
figure { margin: 8px 0; break-inside: avoid; } svg { max-width: 100%; height: auto; }
figcaption, small, .muted { color: #62605a; font-size: 13px; }
table { border-collapse: collapse; width: 100%; font-size: 14px; }
thead { display: table-header-group; } tr { break-inside: avoid; }
td, th { text-align: left; vertical-align: top; padding: 5px 12px 5px 0; border-bottom: 1px solid #ded7ca; }
th { font-weight: 400; color: #62605a; } .chosen { font-weight: 700; }
p, ul { margin: 4px 0; } li { margin: 2px 0; } p { orphans: 3; widows: 3; overflow-wrap: anywhere; }
@media print {
  body { background: #fff; color: #000; font-size: 10.5pt; } main { max-width: none; padding: 0; }
  figcaption, small, .muted, th { color: #333; } td, th { border-color: #999; } table { font-size: 9.5pt; }
}
""".strip()


def write_sheet_page(
    path: Path, sheet: Sheet, targets: Mapping[str, Target], checks: Sequence[Mapping[str, Any]] = ()
) -> None:
    """Write the page beside, and give it its name when it is whole.

    Parameters
    ----------
    path : Path
        Its place; folders on the way are made, what is there is replaced.
    sheet : Sheet
        What was decided.
    targets : mapping of str to Target
        Those there are; shown are those that the sheet aims at.
    checks : sequence of mapping
        Of the master, as `evenhand check --json` gives them, for targets that were judged.

    Raises
    ------
    BadValue
        If it cannot be written.
    """
    try:
        # It can be made again from the sheet at any time.
        with write_whole(path, synced=False) as beside:
            beside.write_text(make_sheet_page(sheet, targets, checks), encoding="utf-8")
    except OSError as error:
        reason = (error.strerror or type(error).__name__).lower()
        raise BadValue("sheet", "page", path, f"a place that can be written ({reason})") from None


def make_sheet_page(sheet: Sheet, targets: Mapping[str, Target], checks: Sequence[Mapping[str, Any]] = ()) -> str:
    """Make the page's text; see `write_sheet_page`."""
    title = sheet.aim.title or sheet.project
    aimed = [targets[name] for name in sheet.aim.targets if name in targets]
    parts = [
        *_head(sheet, title),
        *_aim(sheet, aimed),
        *_chain(sheet),
        *_loudness(sheet),
        *_evidence("Kept, and why", sheet.list_kept()),
        *_evidence("Left out, and why", [each for each in sheet.candidates if each.decision == "leave"]),
        *_evidence("Still open", [each for each in sheet.candidates if each.decision == "open"]),
        *_back_to_mix(sheet),
        *_together(sheet),
        *_delivery(sheet, aimed, checks),
        *_definitions(sheet),
    ]
    head = (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{_text(title)}: decision sheet</title><style>{STYLE}</style></head><body><main>"
    )
    return "\n".join([head, *parts, "</main></body></html>"]) + "\n"


def _head(sheet: Sheet, title: str) -> list[str]:
    """Name the song and its mix."""
    aim, mix = sheet.aim, sheet.mix
    named = " · ".join(each for each in (aim.version, aim.credits, aim.isrc and f"ISRC {aim.isrc}") if each)
    lines = [
        f"Decision sheet, begun {sheet.begun}.",
        f"Mix: {Path(mix.path).name}, {write_time(mix.duration_s)}, {mix.sample_rate_hz} Hz, "
        f"{write_number(mix.integrated_lufs)} LUFS, true peak {write_number(mix.true_peak_dbtp)} dBTP "
        f"(SHA-256 {mix.sha256[:12]} …).",
    ]
    if sheet.carried_from:
        lines.append(f"Carried over from an earlier mix (SHA-256 {sheet.carried_from[:12]} …).")
    return [f"<h1>{_text(title)}</h1>", *_paragraphs([named] if named else []), *_paragraphs(lines, "muted")]


def _aim(sheet: Sheet, targets: Sequence[Target]) -> list[str]:
    """Say where it goes, what matters, and what struck first."""
    aim, titles = sheet.aim, {target.target: target.title for target in targets}
    rows = [
        ("Goes to", ", ".join(titles.get(name, name) for name in aim.targets)),
        ("Must not be lost", aim.keep),
        ("Played on", ", ".join(aim.systems)),
        ("Mood", aim.mood),
    ]
    table = [f"<tr><th>{_text(name)}</th><td>{_text(value)}</td></tr>" for name, value in rows if value]
    parts = ["<h2>Aim</h2>", "<table>", *table, "</table>"] if table else []
    if aim.impressions:
        parts += ["<h3>First impressions, noted before anything was measured</h3>", *_list(aim.impressions)]
    return parts


def _chain(sheet: Sheet) -> list[str]:
    """List everything in the order in which it is set: settings, and results to aim for."""
    rows = []
    for candidate in sheet.list_kept():
        aims = [aim_for(candidate), candidate.note]
        rows.append((title_candidate(candidate), _quantities(candidate.settings), aims, candidate.results))
    push = make_push(sheet.loudness)
    for stage, setting, aim in list_last_stages(sheet):
        held = _quantities(push.settings, {"reached_lufs"}) if stage == "Limiter" and push else [setting]
        rows.append((stage, held, [aim], {}))
    lines = [
        f"<tr><td>{number}</td><td>{_text(name)}</td><td>{_lines(settings)}</td>"
        f"<td>{_lines(aims)}{_small(_quantities(results))}</td></tr>"
        for number, (name, settings, aims, results) in enumerate(rows, 1)
    ]
    head = "<thead><tr><th></th><th>Move</th><th>Settings</th><th>Results to aim for</th></tr></thead>"
    curve = gather_equaliser_curve(sheet)
    picture = []
    if curve is not None:
        names = "; ".join(name for name, _ in curve.each)
        caption = f"All kept filters together (strong line): {names}."
        picture = [_figure(write_svg(draw_equaliser(curve, WIDTH, EQUALISER_HEIGHT), "paper"), caption)]
    words = "Settings mean different things in different makers' hands: dial them in, then go by the results."
    title = "<h2>To be set, in this order</h2>"
    return [title, *_paragraphs([words]), "<table>", head, "<tbody>", *lines, "</tbody></table>", *picture]


def _loudness(sheet: Sheet) -> list[str]:
    """List the rungs with what they cost, and what the ear said."""
    loudness = sheet.loudness
    if not loudness.rungs:
        return []
    names = list(dict.fromkeys(name for rung in loudness.rungs for name in rung.costs))
    rows = [("", [f"{write_number(rung.reached_lufs)} LUFS" for rung in loudness.rungs])]
    rows[0][1][:] = [f"{each} ← chosen" if n == loudness.chosen else each for n, each in enumerate(rows[0][1])]
    rows.append(("drive", [f"{write_number(rung.drive_db, 1, True)} dB" for rung in loudness.rungs]))
    for name in names:
        values = [_quantity(name, rung.costs[name])[1] if name in rung.costs else "–" for rung in loudness.rungs]
        rows.append((_quantity(name, 0.0)[0], values))
    lines = [_row(name, values, loudness.chosen, "th" if not name else "td") for name, values in rows]
    costs = gather_rung_costs(sheet)
    picture = []
    if costs is not None:
        titles = [_quantity(name, 0.0)[0] for name, _ in costs.costs_db]
        drawn = write_svg(draw_rung_costs(costs, titles, WIDTH, RUNGS_HEIGHT), "paper")
        picture = [_figure(drawn, "What each loudness of the whole song costs, measured on the rendered song.")]
    said = _paragraphs(explain_rounds(loudness.rounds))
    about = "Loudness is information, not a law; playback figures differ between services and change."
    return ["<h2>Loudness</h2>", "<table>", *lines, "</table>", *picture, *said, *_paragraphs([about], "muted")]


def _row(name: str, values: Sequence[str], chosen: int | None, tag: str) -> str:
    """Make a row with a cell for each rung, the chosen one marked."""
    cells = "".join(
        f"<{tag}{' class=chosen' if place == chosen else ''}>{_text(value)}</{tag}>"
        for place, value in enumerate(values)
    )
    return f"<tr><th>{_text(name)}</th>{cells}</tr>"


def _evidence(title: str, candidates: Iterable[Candidate]) -> list[str]:
    """Say of each candidate why it was proposed, what the ear said, and how far that is confirmed."""
    parts: list[str] = []
    for each in candidates:
        parts.append(f"<h3>{_text(title_candidate(each))}: {_text(describe_state(each))}</h3>")
        lines = [each.reason and f"Proposed because: {each.reason}."]
        lines += [each.threshold and f"Your own threshold for such a move: {each.threshold}."]
        lines += [each.note and f"Note: {each.note}."]
        parts += _paragraphs([line for line in lines if line])
        parts += _paragraphs(explain_rounds(each.rounds, "The song with it") or ("It was not weighed blind.",), "muted")
    return [f"<h2>{title}</h2>", *parts] if parts else []


def _back_to_mix(sheet: Sheet) -> list[str]:
    """List what is to be mended in the mix, and what else was found."""
    found = word_findings(sheet.findings)
    mended = [line for line, decision in found if decision == "mix"]
    mended += [
        f"{title_candidate(each)}{': ' + each.note if each.note else ''}"
        for each in sheet.candidates
        if each.decision == "mix"
    ]
    words = {"keep": "stays", "leave": "taken away by a fade or a cut", "open": "open"}
    others = [f"{line} ({words[decision]})" for line, decision in found if decision in words]
    parts = ["<h2>Goes back to the mix</h2>", *_list(mended)] if mended else []
    left = tell_heard(sheet)
    parts += ["<h2>Also found on the pass</h2>" if others else "<h2>The pass</h2>"] if others or left else []
    parts += [*_list(others), *_paragraphs([left] if left else [])]
    told = len(found) < len(sheet.findings)
    return parts + (_paragraphs(["Each by itself stands in the sheet's YAML file."], "muted") if told else [])


def _together(sheet: Sheet) -> list[str]:
    """Say what became of all kept moves together."""
    lines = explain_rounds(sheet.whole, "The song with all kept moves")
    return ["<h2>All together against the untouched mix</h2>", *_paragraphs(lines)] if lines else []


def _delivery(sheet: Sheet, targets: Sequence[Target], checks: Sequence[Mapping[str, Any]]) -> list[str]:
    """List what was made, and every delivery number with its date and what it is."""
    made = [
        f"{Path(each.path).name}: {each.sample_rate_hz} Hz, {each.bit_depth} bit, "
        f"{write_number(each.integrated_lufs)} LUFS, true peak {write_number(each.true_peak_dbtp, 2)} dBTP"
        f"{', ' + each.verdict if each.verdict else ''} (SHA-256 {each.sha256[:12]} …)"
        for each in sheet.delivery.bounced
    ]
    parts = ["<h2>Delivery</h2>", *_list(made)] if made or targets or checks else []
    judged = {check["target"]: check["verdicts"] for check in checks if check["target"]}
    for target in targets:
        rows = judged.get(target.target) or [_describe_rule(rule) for rule in target.rules]
        head = "<thead><tr><th></th><th>Asked or found</th><th>Whose number, and of when</th></tr></thead>"
        lines = [_rule_row(row) for row in rows]
        parts += [f"<h3>{_text(target.title)}</h3>", "<table>", head, "<tbody>", *lines, "</tbody></table>"]
    return parts


def _describe_rule(rule: Rule) -> dict[str, Any]:
    """Describe a rule that nothing was judged by yet."""
    origin = {"status": rule.status, "source": rule.source, "date": rule.date}
    return {"verdict": "", "reason": f"{NAMES[rule.rule]}: {word_limit(rule)}", "next": "", **origin}


def _rule_row(row: Mapping[str, Any]) -> str:
    """Make a row: outcome, reason and next step, origin."""
    reason = str(row["reason"])
    origin = f"{row['status'].replace('_', ' ')}: {row['source']}, {row['date']}"
    following = _small([row["next"]] if row["next"] else [])
    return (
        f"<tr><td><strong>{_text(row['verdict'])}</strong></td>"
        f"<td>{_text(begin_large(reason))}{following}</td><td><small>{_text(origin)}</small></td></tr>"
    )


def _definitions(sheet: Sheet) -> list[str]:
    """Say what settings and results mean."""
    moves = [each.move for each in sheet.candidates] + ([LIMITER_MOVE] if sheet.loudness.rungs else [])
    return ["<h2>What the numbers mean</h2>", *_list(choose_definitions(moves).values())]


def _quantities(values: Mapping[str, float], left_out: Iterable[str] = ()) -> list[str]:
    """Write settings or results as lines: the name in words, the value with its unit."""
    named = (_quantity(name, value) for name, value in values.items() if name not in left_out)
    return [f"{words} {value}" for words, value in named]


def _quantity(name: str, value: float) -> tuple[str, str]:
    """Name a figure and write its value with its unit; changes with their sign."""
    if name in QUANTITIES and name not in COSTS:
        return describe_quantity(name, value)
    words, unit = name_figure(name)
    return words, f"{write_number(value, 1, 'change' in name)} {unit}".rstrip()


def _figure(drawn: str, caption: str) -> str:
    return f"<figure>{drawn}<figcaption>{_text(caption)}</figcaption></figure>"


def _paragraphs(lines: Iterable[str], style: str = "") -> list[str]:
    opening = f'<p class="{style}">' if style else "<p>"
    return [f"{opening}{_text(line)}</p>" for line in lines]


def _list(lines: Iterable[str]) -> list[str]:
    return ["<ul>", *(f"<li>{_text(line)}</li>" for line in lines), "</ul>"]


def _lines(lines: Iterable[str]) -> str:
    return "<br>".join(_text(line) for line in lines if line)


def _small(lines: Sequence[str]) -> str:
    return f"<br><small>{'; '.join(_text(line) for line in lines)}</small>" if lines else ""


def _text(text: str) -> str:
    """Escape a text; what cannot be shown becomes a space."""
    return escape("".join(letter if letter.isprintable() or letter == "\u202f" else " " for letter in text))
