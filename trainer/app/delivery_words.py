"""What the desk tells of files that were made or checked, in words."""

from __future__ import annotations

from collections.abc import Mapping

from trainer.app.bouncing import BounceResult


def word_judged(result: BounceResult, titles: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """Word what became of each target that a file is for: its title, and how many rules it keeps."""
    found = []
    for check in result.checks:
        outcomes = [verdict["verdict"] for verdict in check["verdicts"]]
        failed, looked_at = outcomes.count("fail"), outcomes.count("warn")
        said = f"passes all {len(outcomes)} rules"
        if failed:
            said = f"fails {failed} of {len(outcomes)} rules"
        elif looked_at:
            said = f"passes, {looked_at} of {len(outcomes)} rules to look at"
        if outcomes:
            found.append((titles.get(check["target"], check["target"]), said))
    return tuple(found)


def word_lines(result: BounceResult, titles: Mapping[str, str]) -> tuple[str, ...]:
    """Word how near a file comes to the sheet, then what misses a rule and what to do, each once."""
    misses: dict[str, list[str]] = {}
    for check in result.checks:
        title = titles.get(check["target"], check["target"])
        for verdict in check["verdicts"]:
            if verdict["verdict"] != "pass":
                lead = "Fails" if verdict["verdict"] == "fail" else "Look at it"
                misses.setdefault(f"{lead}: {verdict['reason']} {verdict['next']}".strip(), []).append(title)
    return (*result.words, *(f"{', '.join(found)}. {said}" for said, found in misses.items()))
