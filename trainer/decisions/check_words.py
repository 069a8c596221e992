"""A check in words, for the terminal."""

from __future__ import annotations

from typing import Any

from trainer.decisions.facts import word_facts
from trainer.decisions.reasons import FAULT_NAMES
from trainer.units import write_number

MARKS = {"pass": "pass", "warn": "WARN", "fail": "FAIL"}
MOST_FAULTS = 20


def word_check(check: dict[str, Any]) -> list[str]:
    """Word a check: the figures, the faults, the verdicts or the intake, each with what to do."""
    lines = word_facts(check | {"notes": []})
    lines += [f"  edges           {_word_edges(check['edges'])}"]
    lines += [f"  fault           {word_fault(fault)}" for fault in check["faults"][:MOST_FAULTS]]
    if len(check["faults"]) > MOST_FAULTS:
        lines.append(f"  fault           and {len(check['faults']) - MOST_FAULTS} more; --json lists all")
    lines += [] if check["faults"] else ["  fault           none found"]
    lines += [f"  coded           {word_coded(peak)}" for peak in check["coded"]]
    for item in check.get("intake", []):
        lines += [f"  {MARKS[item['verdict']]:<15} {item['reason']}"]
        lines += [f"                  {item['next']}"] if item["next"] else []
    for verdict in check["verdicts"]:
        lines.append(
            f"  {MARKS[verdict['verdict']]:<15} {verdict['reason']} "
            f"({verdict['status'].replace('_', ' ')}: {verdict['source']}, {verdict['date']})"
        )
        lines += [f"                  {verdict['next']}"] if verdict["next"] else []
    lines += [f"  note            {note}" for note in check["notes"]]
    if check["verdict"] is not None:
        lines.append(f"  {check['target']}: {check['verdict']}")
    return lines


def word_fault(fault: dict[str, Any]) -> str:
    """Word one fault: what, where, on which side, how strong."""
    name = FAULT_NAMES[fault["kind"]]
    digits = 0 if fault["unit"] == "samples" else 1
    whole = fault["end_s"] - fault["start_s"] > 1.0
    place = f"{write_number(fault['start_s'], 2)} s"
    place += f" to {write_number(fault['end_s'], 2)} s" if whole else ""
    strength = f"{write_number(fault['strength'], digits)} {fault['unit']}"
    return f"{name} at {place}, {fault['channel']}, {strength}"


def _word_edges(edges: dict[str, float | None]) -> str:
    """Word silence and decay."""
    words = (("head_silence_s", "of silence before"), ("tail_silence_s", "after"), ("tail_decay_s", "of decay"))
    parts = [f"{write_number(edges[name] or 0.0, 2)} s {word}" for name, word in words if edges[name] is not None]
    return ", ".join(parts) or "silence throughout"


def word_coded(peak: dict[str, Any]) -> str:
    """Word what coding does to the peak."""
    if peak["true_peak_dbtp"] is None:
        return f"{peak['codec']} {peak['kbps']} kb/s: could not be coded"
    return f"{peak['codec']} {peak['kbps']} kb/s: true peak {write_number(peak['true_peak_dbtp'])} dBTP"
