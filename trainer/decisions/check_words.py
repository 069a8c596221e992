"""A check in words, for the terminal."""

from __future__ import annotations

from typing import Any

from trainer.decisions.facts import word_facts
from trainer.decisions.reasons import FAULT_NAMES
from trainer.units import write_number

MARKS = {"pass": "pass", "warn": "WARN", "fail": "FAIL"}


def word_check(check: dict[str, Any]) -> list[str]:
    """Word a check: the figures, the faults, the verdicts or the intake, each with what to do."""
    lines = word_facts(check | {"notes": []})
    lines += [f"  edges           {_word_edges(check['edges'])}"]
    lines += [f"  fault           {line}" for line in word_faults(check["faults"])]
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


def word_faults(faults: list[dict[str, Any]]) -> list[str]:
    """Word faults, a line for each kind: one by itself, more by their number, the first and the strongest."""
    kinds = dict.fromkeys(fault["kind"] for fault in faults)
    return [_word_kind([fault for fault in faults if fault["kind"] == kind]) for kind in kinds]


def _word_kind(faults: list[dict[str, Any]]) -> str:
    if len(faults) == 1:
        return word_fault(faults[0])
    first = min(faults, key=lambda fault: fault["start_s"])
    strongest = max(faults, key=lambda fault: fault["strength"])
    return f"{_word_count(faults)}, the first {_word_place(first)}, the strongest {_word_place(strongest)}"


def word_fault(fault: dict[str, Any]) -> str:
    """Word one fault: what, where, on which side, how strong."""
    return f"{FAULT_NAMES[fault['kind']]} {_word_place(fault)}"


def _word_count(faults: list[dict[str, Any]]) -> str:
    return f"{FAULT_NAMES[faults[0]['kind']]}: {len(faults)} places"


def _word_place(fault: dict[str, Any]) -> str:
    """Word where a fault is, on which side, and how strong."""
    digits = 0 if fault["unit"] == "samples" else 1
    whole = fault["end_s"] - fault["start_s"] > 1.0
    place = f"{write_number(fault['start_s'], 2)} s"
    place += f" to {write_number(fault['end_s'], 2)} s" if whole else ""
    strength = f"{write_number(fault['strength'], digits)} {fault['unit']}"
    return f"at {place}, {fault['channel']}, {strength}"


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
