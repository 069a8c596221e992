"""Delivery targets: rules with a limit, and where each limit comes from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from trainer.errors import BadValue, BadValues
from trainer.measure.faults.finding import KINDS

Outcome = Literal["pass", "warn", "fail"]
Status = Literal["standard", "recommendation", "common_practice"]
Limit = float | str | tuple[float | str, ...]

WAYS = ("most", "least", "between", "among", "aim")
OUTCOMES = ("pass", "warn", "fail")
STATUSES = ("standard", "recommendation", "common_practice")
FIGURES = (
    "integrated_lufs", "loudness_range_lu", "max_momentary_lufs", "max_short_term_lufs", "true_peak_dbtp",
    "sample_peak_dbfs", "peak_to_loudness_db", "correlation", "bass_correlation", "balance_db", "mono_change_lu",
    "bandwidth_hz", "true_bits", "bit_depth", "sample_rate_hz", "channels", "duration_s", "format",
    "head_silence_s", "tail_silence_s", "tail_decay_s", "coded_true_peak_dbtp",
)  # fmt: skip
RULES = FIGURES + KINDS
RULE_KEYS = {"rule", "unit", "miss", "status", "source", "date"}
TARGET_KEYS = {"target", "title", "about", "rules"}


@dataclass(frozen=True)
class Rule:
    """One demand.

    Parameters
    ----------
    rule : str
        A figure, or a kind of fault whose findings are counted.
    way : str
        ``most``, ``least``, ``between``, ``among`` or ``aim``.
    limit : float, str or tuple
        One value; two for ``between``; any number for ``among``.
    unit : str
        Unit of the limit.
    miss : str
        What a miss is: ``fail``, ``warn`` or ``pass``.
    status : str
        ``standard``, ``recommendation`` or ``common_practice``.
    source, date : str
        Whose number, and of when.
    """

    rule: str
    way: str
    limit: Limit
    unit: str
    miss: Outcome
    status: Status
    source: str
    date: str


@dataclass(frozen=True)
class Target:
    """A place that a master is sent to: its name, a title, a sentence, its rules."""

    target: str
    title: str
    about: str
    rules: tuple[Rule, ...]

    @property
    def loudness(self) -> Rule | None:
        """The rule on integrated loudness, if there is one."""
        return next((rule for rule in self.rules if rule.rule == "integrated_lufs"), None)

    @property
    def aim_lufs(self) -> float | None:
        """Loudness aimed at: the aim, or the upper end of a range."""
        rule = self.loudness
        if rule is None:
            return None
        return float(rule.limit[-1] if isinstance(rule.limit, tuple) else rule.limit)


def read_targets(document: Any, where: str) -> dict[str, Target]:
    """Read a document of targets.

    Parameters
    ----------
    document : object
        A mapping with ``format: 1``, ``common`` (rules for all) and ``targets``.
    where : str
        Its file's name, for errors.

    Returns
    -------
    dict of str to Target
        A target's own rule takes the place of a common one of the same name.

    Raises
    ------
    BadValues
        With every fault, a line each.
    """
    if not isinstance(document, dict) or document.get("format") != 1:
        raise BadValues((BadValue(where, "format", _get(document, "format"), "1, in a mapping with targets"),))
    faults: list[BadValue] = []
    common = _read_rules(document.get("common", []), f"{where}: common", faults)
    targets: dict[str, Target] = {}
    for entry in _list(document.get("targets"), where, "targets", faults):
        target = _read_target(entry, where, common, faults)
        if target.target in targets:
            faults.append(BadValue(where, "target", target.target, "a name that no other target has"))
        targets[target.target] = target
    if faults:
        raise BadValues(tuple(faults))
    return targets


def _read_target(entry: Any, where: str, common: tuple[Rule, ...], faults: list[BadValue]) -> Target:
    """Read one target, collecting its faults."""
    if not isinstance(entry, dict):
        faults.append(BadValue(where, "target", entry, "a mapping"))
        return Target("", "", "", ())
    name = str(entry.get("target", ""))
    place = f"{where}: {name or 'target'}"
    for key in sorted({str(key) for key in entry} - TARGET_KEYS):
        faults.append(BadValue(place, "key", key, f"one of {', '.join(sorted(TARGET_KEYS))}"))
    if not name.replace("_", "").isalnum():
        faults.append(BadValue(place, "target", name or "nothing", "a name of letters, digits and _"))
    own = _read_rules(entry.get("rules"), place, faults)
    named = {rule.rule for rule in own}
    rules = own + tuple(rule for rule in common if rule.rule not in named)
    return Target(name, str(entry.get("title", name)), str(entry.get("about", "")), rules)


def _read_rules(entries: Any, where: str, faults: list[BadValue]) -> tuple[Rule, ...]:
    """Read a list of rules, collecting their faults."""
    rules = (_read_rule(entry, where, faults) for entry in _list(entries, where, "rules", faults))
    return tuple(rule for rule in rules if rule is not None)


def _read_rule(entry: Any, where: str, faults: list[BadValue]) -> Rule | None:
    """Read one rule; None if it is broken."""
    if not isinstance(entry, dict):
        faults.append(BadValue(where, "rule", entry, "a mapping"))
        return None
    place, before = f"{where}: {entry.get('rule', 'rule')}", len(faults)
    ways = [way for way in WAYS if way in entry]
    if len(ways) != 1:
        faults.append(BadValue(place, "limit", ", ".join(ways) or "nothing", f"exactly one of {', '.join(WAYS)}"))
    for key in sorted({str(key) for key in entry} - RULE_KEYS - set(WAYS)):
        faults.append(BadValue(place, "key", key, f"one of {', '.join(sorted(RULE_KEYS))} and a limit"))
    for key, allowed in (("rule", RULES), ("miss", OUTCOMES), ("status", STATUSES)):
        if entry.get(key) not in allowed:
            faults.append(BadValue(place, key, entry.get(key, "nothing"), f"one of {', '.join(allowed)}"))
    for key in ("source", "date"):
        if not str(entry.get(key) or "").strip():
            faults.append(BadValue(place, key, "nothing", "whose number this is, and of when"))
    limit = _read_limit(entry[ways[0]], ways[0], place, faults) if len(ways) == 1 else 0.0
    if len(faults) > before:
        return None
    unit, source, date = (str(entry.get(key) or "") for key in ("unit", "source", "date"))
    return Rule(entry["rule"], ways[0], limit, unit, entry["miss"], entry["status"], source, date)


def _read_limit(value: Any, way: str, where: str, faults: list[BadValue]) -> Limit:
    """Read a limit of its way's shape."""
    many = way in ("between", "among")
    values = value if many and isinstance(value, list) else [value]
    numbers = all(isinstance(one, (int, float)) and not isinstance(one, bool) for one in values)
    fits = numbers or (way == "among" and all(isinstance(one, str) for one in values))
    if not fits or not values or (way == "between" and (len(values) != 2 or values[0] > values[1])):
        faults.append(BadValue(where, way, value, "[low, high]" if way == "between" else "a number"))
        return 0.0
    return tuple(values) if many else float(values[0])


def _list(value: Any, where: str, name: str, faults: list[BadValue]) -> list[Any]:
    if isinstance(value, list):
        return value
    faults.append(BadValue(where, name, "nothing" if value is None else value, "a list"))
    return []


def _get(document: Any, key: str) -> Any:
    return document.get(key, "nothing") if isinstance(document, dict) else type(document).__name__
