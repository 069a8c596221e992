"""`evenhand simulate`: a drill's own engine on listeners whose ears are known."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from tests.cli.command import run


def test_simulated_listeners_are_found(tmp_path: Path) -> None:
    """The keys of the machine-readable output; the true threshold, given on the command line, is found.

    After ten days of 30 trials the scatter is about .07 in log10 and less: the mean of 8 lies within .1 of the truth.
    """
    words = ["simulate", "high_shelf_8k", "--threshold", "1.2", "--days", "10", "--listeners", "8", "--json"]
    found = json.loads(run(tmp_path, *words).stdout)
    assert set(found) == {"drill", "threshold", "unit", "listeners", "summary"}
    assert found["drill"] == "high_shelf_8k" and found["unit"] == "dB" and len(found["listeners"]) == 8
    assert set(found["listeners"][0]) == {"estimate", "low", "high", "fraction_correct", "trials"}
    assert {one["trials"] for one in found["listeners"]} == {300}
    errors = [np.log10(one["estimate"] / 1.2) for one in found["listeners"]]
    assert abs(float(np.mean(errors))) < 0.1
    assert found["summary"]["bias_log10"] == pytest.approx(float(np.mean(errors)))
    assert set(found["summary"]) == {
        "bias_log10", "sd_log10", "within_20_percent", "coverage_95", "fraction_correct_median",
    }  # fmt: skip
    assert run(tmp_path, *words).stdout == run(tmp_path, *words).stdout


@pytest.mark.parametrize("words", [["--threshold", "0"], ["--threshold", "nan"], ["--threshold", "1", "--lapse", "2"]])
def test_ears_that_cannot_be_are_refused(words: list[str], tmp_path: Path) -> None:
    """One line, status 2."""
    done = run(tmp_path, "simulate", "limiting", *words)
    assert done.returncode == 2 and len(done.stderr.strip().splitlines()) == 1
