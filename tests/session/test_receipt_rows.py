"""The rows of a receipt: what stands in them agrees with each other."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import make_trial
from trainer.dsp.moves import MOVES
from trainer.exercise.drill import Drill
from trainer.exercise.quantities import QUANTITIES, describe_quantity, find_twin, name_amount
from trainer.exercise.trial import PreparedTrial, TrialSpec
from trainer.session.receipt_rows import list_receipt


@pytest.fixture
def trial(drills: dict[str, Drill]) -> PreparedTrial:
    """Give a trial whose second version is 2 dB louder, as level is the question."""
    made = make_trial(TrialSpec(drills["high_shelf_8k"], 1, 0, 2.0), 2)
    loud = tuple(replace(v, loudness_lufs=-18.0 if v.processed else -20.0) for v in made.versions)
    return replace(made, versions=loud, loudness_matched=False)


def read_rows(trial: PreparedTrial) -> dict[str, str]:
    """Give what was measured, by name."""
    return {row.name: row.measured for row in list_receipt(trial, "abcdefgh-1")}


def test_where_levels_differ_both_loudnesses_are_told(trial: PreparedTrial) -> None:
    """By definition: the difference of the two is the difference that is written below them."""
    rows = read_rows(trial)
    assert rows["loudness, without and with"] == "−20.00 and −18.00 LUFS"
    assert rows["largest difference in loudness"] == "2.00 LU" and "loudness of all versions" not in rows
    matched = replace(
        trial, loudness_matched=True, versions=tuple(replace(v, loudness_lufs=-20) for v in trial.versions)
    )
    assert read_rows(matched)["loudness of all versions"] == "−20.0 LUFS"


def test_without_and_with_stand_in_one_row(trial: PreparedTrial) -> None:
    """Both values are written, once, and a value without its other one keeps a row of its own."""
    measured = {"side_over_middle_before_db": -12.4, "side_over_middle_after_db": -9.0, "correlation_after": 0.5}
    effect = replace(trial.effect, measured=measured)
    versions = tuple(replace(v, effect=effect if v.processed else None) for v in trial.versions)
    rows = read_rows(replace(trial, versions=versions))
    assert rows["sides against the middle, without and with"] == "−12.4 and −9.0 dB"
    assert rows["correlation, with"] == "+0.50"
    assert sum(name.startswith("sides against") for name in rows) == 1


def test_every_pair_has_one_name_and_one_unit() -> None:
    """A pair in one row must mean one quantity: the words differ in without and with only, the unit does not."""
    for name in QUANTITIES:
        twin = find_twin(name)
        if not twin:
            continue
        assert find_twin(twin) == name and QUANTITIES[name][1:] == QUANTITIES[twin][1:]
        words = {describe_quantity(each, 0.0)[0] for each in (name, twin)}
        assert {each.rsplit(", ", 1)[1] for each in words} == {"without", "with"}
        assert len({each.rsplit(", ", 1)[0] for each in words}) == 1


def test_a_promise_is_a_bound_and_readings_have_no_false_digits(trial: PreparedTrial) -> None:
    """Of matched versions less than 0.05 LU is promised; a true peak is read to a tenth (EBU Tech 3341)."""
    versions = tuple(replace(v, loudness_lufs=-20.0, true_peak_dbtp=-3.2) for v in trial.versions)
    rows = {row.name: row for row in list_receipt(replace(trial, loudness_matched=True, versions=versions), "a")}
    assert rows["largest difference in loudness"].asked == "under 0.05 LU"
    assert rows["highest true peak"].measured == "−3.2 dBTP"


@pytest.mark.parametrize(
    ("name", "value", "written"),
    [
        ("gain_db", 0.42, "+0.42 dB"), ("gain_db", 2.0, "+2.0 dB"), ("gain_db", -60.0, "−60 dB"),
        ("corner_hz", 8000.0, "8 kHz"), ("corner_hz", 300.0, "300 Hz"), ("sine_hz", 12500.0, "12.5 kHz"),
        ("reduction_on_hits_db", 3.04, "3.0 dB"), ("worst_deviation_db", 0.012, "0.012 dB"),
    ],
)  # fmt: skip
def test_quantities_are_written_as_a_person_speaks_of_them(name: str, value: float, written: str) -> None:
    """Worked by hand: two figures where tenths are asked for, kilohertz from 1000 Hz on (SI prefixes)."""
    assert describe_quantity(name, value)[1] == written


def test_amounts_are_named_by_what_their_moves_are_measured_by(drills: dict[str, Drill]) -> None:
    """Against the moves' own effects: a gain is called that where the quantity is one, and so on."""
    words = {"reduction": ("reduction", "off_peaks"), "gain": ("gain", "tilt", "side", "sibilance"),
             "level": ("level", "part"), "swing of the gain": ("swing",)}  # fmt: skip
    moves = {drill.move for drill in drills.values() if drill.amount.unit == "dB" and drill.form != "lesson"}
    for move in moves & set(MOVES):
        kind, _, unit = name_amount(move, "dB").rpartition(", ")
        assert unit == "dB"
        assert not words.get(kind) or any(part in MOVES[move].effect_name for part in words[kind]), move
    assert name_amount("saturation", "%") == "% of the song" and name_amount("high_pass", "Hz") == "Hz"
