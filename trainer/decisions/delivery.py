"""The delivery check: a file's evidence against a target's rules, each with a reason and what to do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from trainer.decisions.evidence import Evidence, list_evidence
from trainer.decisions.reasons import explain, name_next_step
from trainer.decisions.target import OUTCOMES, Outcome, Rule, Target
from trainer.measure.faults.finding import KINDS

# Readings are stated to a tenth; what is over a limit by less than half of that is on it.
ROUNDING = 0.05
ROUNDED_UNITS = ("LUFS", "LU", "dBTP", "dBFS", "dB")


@dataclass(frozen=True)
class Verdict:
    """What became of one rule.

    Parameters
    ----------
    rule : Rule
        What was asked.
    value : float, str or None
        What was found; None where it could not be measured.
    outcome : str
        ``pass``, ``warn`` or ``fail``.
    reason, next_step : str
        Why, in words, and what to do; nothing to do is empty.
    """

    rule: Rule
    value: float | str | None
    outcome: Outcome
    reason: str
    next_step: str


def judge_delivery(evidence: Evidence, target: Target) -> tuple[Verdict, ...]:
    """Judge a file by every rule of a target."""
    facts = list_evidence(evidence)
    return tuple(_judge(rule, _find_value(rule.rule, facts, evidence), target) for rule in target.rules)


def sum_up(verdicts: tuple[Verdict, ...]) -> Outcome | None:
    """Give the worst outcome; None without verdicts."""
    worst = max((OUTCOMES.index(verdict.outcome) for verdict in verdicts), default=None)
    return None if worst is None else ("pass", "warn", "fail")[worst]


def list_check(evidence: Evidence, target: Target | None, verdicts: tuple[Verdict, ...]) -> dict[str, Any]:
    """List everything a check gives, as plain facts."""
    facts = list_evidence(evidence)
    notes = facts.pop("notes")
    return facts | {
        "target": None if target is None else target.target,
        "verdicts": [
            {
                "rule": verdict.rule.rule,
                "value": verdict.value,
                "limit": list(verdict.rule.limit) if isinstance(verdict.rule.limit, tuple) else verdict.rule.limit,
                "unit": verdict.rule.unit,
                "verdict": verdict.outcome,
                "status": verdict.rule.status,
                "source": verdict.rule.source,
                "date": verdict.rule.date,
                "asked": verdict.rule.way,
                "reason": verdict.reason,
                "next": verdict.next_step,
            }
            for verdict in verdicts
        ],
        "verdict": sum_up(verdicts),
        "notes": notes,
    }


def _judge(rule: Rule, value: float | str | None, target: Target) -> Verdict:
    """Judge one rule."""
    if value is None:
        # A coded peak that was not tried is no miss; a level that silence does not have is one to be told.
        outcome: Outcome = "pass" if rule.rule.startswith("coded") or rule.miss == "pass" else "warn"
        return Verdict(rule, None, outcome, "Could not be measured on this file; see the notes.", "")
    held = keeps(rule, value)
    outcome = "pass" if held else rule.miss
    return Verdict(rule, value, outcome, explain(rule, value, held), "" if held else name_next_step(rule, value))


def keeps(rule: Rule, value: float | str) -> bool:
    """Tell whether a value keeps a rule's limit; what is only aimed at is kept within a tenth."""
    way, limit = rule.way, rule.limit
    slack = ROUNDING if rule.unit in ROUNDED_UNITS else 1e-9
    if way == "among":
        return value in limit if isinstance(limit, tuple) else value == limit
    number = float(value)
    if isinstance(limit, tuple):
        return float(limit[0]) - slack <= number <= float(limit[1]) + slack
    if way == "most":
        return number <= float(limit) + (0.0 if slack < ROUNDING else slack)
    return number >= float(limit) - slack if way == "least" else abs(number - float(limit)) <= 2 * slack


def _find_value(rule: str, facts: dict[str, Any], evidence: Evidence) -> float | str | None:
    """Find what a rule is about."""
    if rule in KINDS:
        return evidence.count(rule)
    if rule in facts["edges"]:
        return _plain(facts["edges"][rule])
    if rule == "coded_true_peak_dbtp":
        peaks = [peak.true_peak_dbtp for peak in evidence.coded if peak.true_peak_dbtp is not None]
        return round(max(peaks), 2) if peaks else None
    return _plain(facts[rule])


def _plain(value: Any) -> float | str | None:
    return value if value is None or isinstance(value, (str, int)) else float(value)
