"""Targets: the shipped file, and every fault of a broken one, a line each."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from trainer.decisions.reasons import NAMES
from trainer.decisions.target import RULES, read_targets
from trainer.errors import BadValues
from trainer.files.target_reading import list_targets

RULE: dict[str, Any] = {
    "rule": "true_peak_dbtp", "most": -1.0, "unit": "dBTP", "miss": "fail", "status": "recommendation",
    "source": "EBU R 128, item m", "date": "2023-11-01",
}  # fmt: skip


def make(*rules: dict[str, Any], **more: Any) -> dict[str, Any]:
    """Make a document with one target."""
    return {"format": 1, "targets": [{"target": "quay", "title": "Quay", "about": "", "rules": list(rules), **more}]}


def test_figures_of_documents(tmp_path: Path) -> None:
    """EBU R 128 (2023): −23 ±1 LUFS, −1 dBTP. AES TD1008: −16, loudest track −14. IEC 60908: 44.1 kHz, 16 bit."""
    targets = list_targets(tmp_path)
    limits = {(name, rule.rule): rule.limit for name, target in targets.items() for rule in target.rules}
    assert limits["ebu_r128", "integrated_lufs"] == (-24.0, -22.0)
    assert limits["ebu_r128", "true_peak_dbtp"] == limits["aes_td1008", "true_peak_dbtp"] == -1.0
    assert limits["aes_td1008", "integrated_lufs"] == (-16.0, -14.0)
    assert limits["ebu_r128_s2", "integrated_lufs"] == (-20.0, -16.0)
    assert limits["cd", "sample_rate_hz"] == (44100,) and limits["cd", "bit_depth"] == (16,)


def test_loudness_never_fails(tmp_path: Path) -> None:
    """The house's own rule: loudness is information."""
    for target in list_targets(tmp_path).values():
        assert target.loudness is not None and target.loudness.miss != "fail"
        assert target.aim_lufs is not None and -30 < target.aim_lufs < -5


def test_every_rule_has_words() -> None:
    """A rule that can be asked for can be explained."""
    assert set(RULES) <= set(NAMES)


def test_own_rules_replace_common_ones() -> None:
    """By construction: one limit for all targets, and another in one of them."""
    common = {**RULE, "rule": "click", "most": 0}
    document = make({**common, "most": 3}, RULE) | {"common": [common, {**common, "rule": "pop"}]}
    rules = {rule.rule: rule.limit for rule in read_targets(document, "t.yaml")["quay"].rules}
    assert rules == {"click": 3.0, "true_peak_dbtp": -1.0, "pop": 0.0}


BROKEN: dict[str, tuple[Any, str]] = {
    "no mapping": ([1], "format=list"),
    "other format": ({"format": 2}, "format=2"),
    "no targets": ({"format": 1}, "targets=nothing"),
    "unknown rule": (make({**RULE, "rule": "warmth"}), "rule=warmth"),
    "unknown key": (make({**RULE, "colour": 1}), "key=colour"),
    "no source": (make({**RULE, "source": ""}), "source=nothing"),
    "no date": (make({k: v for k, v in RULE.items() if k != "date"}), "date=nothing"),
    "two limits": (make({**RULE, "least": -9}), "limit=most, least"),
    "a word for a limit": (make({**RULE, "most": "loud"}), "most=loud"),
    "a range upside down": (make({**{k: v for k, v in RULE.items() if k != "most"}, "between": [2, 1]}), "between="),
    "unknown status": (make({**RULE, "status": "law"}), "status=law"),
    "unknown outcome": (make({**RULE, "miss": "shout"}), "miss=shout"),
    "no name": (make(RULE, target=""), "target=nothing"),
    "a strange key": (make(RULE, colour="red"), "key=colour"),
    "a target that is none": ({"format": 1, "targets": ["quay"]}, "target=quay"),
    "rules that are none": ({"format": 1, "targets": [{"target": "quay", "rules": [3]}]}, "rule=3"),
    "one name twice": ({"format": 1, "targets": make(RULE)["targets"] * 2}, "target=quay"),
}


@pytest.mark.parametrize("name", sorted(BROKEN))
def test_broken_targets_are_named(name: str) -> None:
    """Each fault names its place and what was expected; nothing else is raised."""
    document, wanted = BROKEN[name]
    with pytest.raises(BadValues) as caught:
        read_targets(document, "t.yaml")
    assert wanted in str(caught.value) and ", expected " in str(caught.value)


def test_all_faults_are_told_together() -> None:
    """By construction: three faults, three lines."""
    document = make({**RULE, "rule": "warmth"}, {**RULE, "status": "law"}, {**RULE, "source": ""})
    with pytest.raises(BadValues) as caught:
        read_targets(document, "t.yaml")
    assert len(str(caught.value).splitlines()) == 3
