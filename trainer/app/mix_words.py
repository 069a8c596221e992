"""What the desk tells of a mix, in words: rows of a comparison, and a file that was checked."""

from __future__ import annotations

from trainer.app.bouncing import BounceResult
from trainer.decisions.balance import BalanceRow
from trainer.decisions.balance_words import WIDTH_FROM_HZ, name_band, name_row


def is_shown(row: BalanceRow) -> bool:
    """Leave the sides of the bass out: so soft that their level says little."""
    return row.kind != "width" or row.band_hz is None or row.band_hz[0] >= WIDTH_FROM_HZ


def name_short(row: BalanceRow) -> str:
    """Name a row in the room that a figure has."""
    if row.kind == "width" and row.band_hz is not None:
        return f"Sides, {name_band(row.band_hz)}"
    return name_row(row) if row.kind == "band" else row.kind.capitalize()


def word_checked(result: BounceResult, titles: dict[str, str]) -> tuple[str, ...]:
    """Word what was made: a line for each target, then against the sheet, then what misses a rule and what to do."""
    heads: list[str] = []
    misses: list[str] = []
    for check in result.checks:
        verdicts, title = check["verdicts"], titles.get(check["target"], check["target"])
        missed = [verdict for verdict in verdicts if verdict["verdict"] != "pass"]
        failed = sum(verdict["verdict"] == "fail" for verdict in missed)
        if verdicts:
            heads.append(f"{title}: {f'fails {failed}' if failed else 'passes all'} of {len(verdicts)} rules.")
        for verdict in missed:
            lead = "Fails" if verdict["verdict"] == "fail" else "Look at it"
            misses.append(f"{title}. {lead}: {verdict['reason']} {verdict['next']}".strip())
    return (*heads, *result.words, *misses)
