"""Drill files: every fault is reported together, with its place, its value and what was expected."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest
import yaml

from trainer.errors import BadValues
from trainer.exercise.schema import AMOUNT_KEYS, CHOICE_KEYS, DRILL_KEYS, TEACHING_KEYS, read_drills

ROOT = Path(__file__).parents[2]


@pytest.fixture
def document() -> dict[str, Any]:
    """Give the template, parsed."""
    return yaml.safe_load((ROOT / "exercises" / "template" / "template.yaml").read_text(encoding="utf-8"))


def test_the_template_is_a_drill(document: dict[str, Any]) -> None:
    """The file that people copy works as it stands."""
    (drill,) = read_drills(document, "template.yaml")
    assert drill.scale.amount_low == drill.amount.low


def test_all_faults_are_reported_together(document: dict[str, Any]) -> None:
    """One reading, one line a fault."""
    broken = copy.deepcopy(document)
    drill = broken["drills"][0]
    drill["move"] = "high_shelv"
    drill["trials"] = True
    drill["qestion"] = drill.pop("question")
    drill["amount"]["low"] = float("nan")
    drill["settings"] = {"corner_hz": 6000, "shine": 3}
    drill["amount"]["usual"] = -1
    with pytest.raises(BadValues) as caught:
        read_drills(broken, "mine.yaml")
    lines = str(caught.value).splitlines()
    assert len(lines) == 6
    text = str(caught.value)
    assert "mine.yaml, drill 1: qestion=" in text and "did you mean question?" in text
    assert "mine.yaml, drill 1: question=missing" in text
    assert "mine.yaml, drill 1: trials=True, expected a whole number, 1 to 100" in text
    assert "mine.yaml, drill 1, amount: low=nan, expected a number, 0.001 to 1000" in text
    assert "amount: usual=-1, expected a number, 0.001 to 1000" in text
    assert "move=high_shelv" in text and "did you mean high_shelf?" in text


@pytest.mark.parametrize("value", [None, [], "drills", 3, {"format": 1}, {"format": 1, "drills": []}, {"format": 2}])
def test_what_is_no_drill_file_is_refused(value: object) -> None:
    """Whatever YAML may hold."""
    with pytest.raises(BadValues, match=r"odd\.yaml: "):
        read_drills(value, "odd.yaml")


def test_settings_and_amounts_keep_to_the_moves_bounds(document: dict[str, Any]) -> None:
    """A corner or a gain that the move does not take is a fault of the file, not of a later trial."""
    broken = copy.deepcopy(document)
    broken["drills"][0]["settings"] = {"corner_hz": 90000}
    with pytest.raises(BadValues, match=r"corner_hz=90000, expected 1000 to 16000 Hz"):
        read_drills(broken, "x.yaml")
    broken = copy.deepcopy(document)
    broken["drills"][0]["amount"]["high"] = 30
    with pytest.raises(BadValues, match=r"gain_db=30\.?0?, expected -12 to 12 dB"):
        read_drills(broken, "x.yaml")


def test_amounts_and_settings_are_looked_at_though_other_keys_are_wrong(document: dict[str, Any]) -> None:
    """A wrong title does not hide a start beyond the largest amount, nor two settings that the move does not know."""
    drill = document["drills"][0]
    drill["title"] = ""
    drill["amount"]["start"] = 50
    drill["settings"] = {"corner_hz": 90000, "shine": 3}
    with pytest.raises(BadValues) as caught:
        read_drills(document, "x.yaml")
    text = str(caught.value)
    assert len(text.splitlines()) == 4
    for wanted in ("title=", "start=50", "corner_hz=90000", "shine=3"):
        assert wanted in text


def test_a_name_is_used_once(document: dict[str, Any]) -> None:
    """Two drills of one name in a file."""
    document["drills"].append(copy.deepcopy(document["drills"][0]))
    with pytest.raises(BadValues, match="expected a name that is used once"):
        read_drills(document, "x.yaml")


def test_the_format_reference_names_every_key() -> None:
    """exercises/README.md lists each key with what it means."""
    text = (ROOT / "exercises" / "README.md").read_text(encoding="utf-8")
    for keys in (DRILL_KEYS, AMOUNT_KEYS, TEACHING_KEYS, CHOICE_KEYS):
        for name, key in keys.items():
            assert f"`{name}`" in text, name
            assert key.means in text, name
