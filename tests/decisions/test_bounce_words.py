"""A bounce in words: gains that are nothing, versions that lie otherwise than their mix, sheets that say little."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.decisions.sheets import make_sheet
from trainer.audio.file_form import FileForm
from trainer.decisions.bounce import BouncePlan, plan_bounce
from trainer.decisions.bounce_words import BounceFigures, word_bounce
from trainer.decisions.sheet import Delivery, Fades, Loudness

FORM = FileForm("/music/low_tide.wav", "WAV", "PCM_24", 48000, 2, 48000 * 180, 24)
MADE = BounceFigures(-12.0, -1.05, 6.3, 0.0, targets=("streaming",), mix_gain_db=0.0)
VERSION = replace(MADE, version_of="mix.wav", mix_lufs=-12.0)


@pytest.fixture
def plan() -> BouncePlan:
    """Plan a bounce with moves and a loudness."""
    return plan_bounce(make_sheet(delivery=Delivery()), FORM, ".wav")


@pytest.mark.parametrize(("gain_db", "said"), [(-0.004, ""), (-0.006, "0.01"), (-1.2, "1.20")])
def test_a_gain_that_is_nothing_is_not_said(plan: BouncePlan, gain_db: float, said: str) -> None:
    """Rounding, half a hundredth of a dB: below it nothing is said; above it what is written is more than nothing."""
    lines = word_bounce(plan, replace(MADE, gain_db=gain_db, mix_gain_db=gain_db))
    assert [line for line in lines if line.startswith("Turned down")] == (
        [f"Turned down by {said} dB to keep the ceiling."] if said else []
    )
    drive = plan.drive_db
    assert drive is not None
    near, far = (word_bounce(plan, replace(MADE, drive_db=drive + more)) for more in (0.004, 0.5))
    assert not any("was used" in line for line in near) and any("was used" in line for line in far)


def test_why_it_was_turned_down_is_said_once(plan: BouncePlan) -> None:
    """By construction: where the loudness is missed by the gain, the first line gives the reason and no other does."""
    lines = word_bounce(plan, replace(MADE, loudness_lufs=-13.2, gain_db=-1.2, mix_gain_db=-1.2))
    assert "1.2 LU under" in lines[0] and sum("turned down" in line.lower() for line in lines) == 1


def test_a_version_that_is_louder_is_left_so_and_said(plan: BouncePlan) -> None:
    """By construction: 0.8 LU over its mix; within 0.2 dB, and softer, it is only set beside it."""
    loud, same, soft = (word_bounce(plan, replace(VERSION, loudness_lufs=at))[0] for at in (-11.2, -11.9, -14.0))
    assert loud.startswith("Loudness −11.2 LUFS, 0.8 LU louder than mix.wav, which comes to −12.0 LUFS with the same ")
    assert "It was left so" in loud
    assert same == "Loudness −11.9 LUFS; mix.wav comes to −12.0 LUFS so." and "louder" not in soft


def test_a_version_whose_peaks_ask_for_more(plan: BouncePlan) -> None:
    """Arithmetic: 1.4 dB against 0.2 dB leaves 1.2 dB for the other master; made together there is no difference."""
    apart = word_bounce(plan, replace(VERSION, gain_db=-1.4, mix_gain_db=-0.2))
    assert "Made with the settings of mix.wav; nothing was solved again, drive +6.30 dB." in apart
    (down,) = [line for line in apart if line.startswith("Turned down by 1.40 dB")]
    assert "mix.wav, which alone is turned down by 0.20 dB" in down and "turn that master down by 1.20 dB" in down
    assert any("which alone is not turned down" in line for line in word_bounce(plan, replace(VERSION, gain_db=-1.4)))
    together = replace(VERSION, gain_db=-1.4, mix_gain_db=-1.4)
    assert "Turned down by 1.40 dB to keep the ceiling." in word_bounce(plan, together)
    mix = word_bounce(plan, replace(MADE, gain_db=-1.4, mix_gain_db=-1.4, held_by="vocal up.wav"))
    assert "Turned down by 1.40 dB, so that vocal up.wav, with the same gain, keeps the ceiling too." in mix


def test_a_version_without_its_mix_says_so(plan: BouncePlan) -> None:
    """By construction: nothing is claimed of a gain that is not known."""
    lines = word_bounce(plan, replace(VERSION, mix_lufs=None, mix_gain_db=None))
    assert any(line.startswith("mix.wav is not at hand, and its gain is not known") for line in lines)


@pytest.mark.parametrize(
    ("fades", "bits", "figures", "line"),
    [
        (Fades(0.1, 0.02, 170.0, 3.0), 24, MADE, "keeps no move: the file is the mix with cut ends, fades and dither."),
        (Fades(), 32, MADE, "keeps no move: the file is the mix as it is."),
        (
            Fades(), 16, replace(MADE, targets=(), converted=True),
            "keeps no move and aims at no target: the file is the mix with another rate and dither, measured and not "
            "judged.",
        ),
    ],
)  # fmt: skip
def test_a_sheet_that_keeps_nothing(fades: Fades, bits: int, figures: BounceFigures, line: str) -> None:
    """By construction: one line says what is left out, and that the file is the mix with what remains."""
    sheet = replace(make_sheet(fades=fades, loudness=Loudness(), delivery=Delivery(0, bits)), candidates=())
    lines = word_bounce(plan_bounce(sheet, FORM, ".wav"), replace(figures, drive_db=None))
    assert lines[-1] == f"The sheet {line}" and "so there is no limiter" in lines[0]


def test_a_sheet_without_a_target_alone(plan: BouncePlan) -> None:
    """By construction: with moves and a loudness only the judging is missing; with all, no line is."""
    last = word_bounce(plan, replace(MADE, targets=()))[-1]
    assert last == "The sheet aims at no target: the file is measured and not judged."
    assert not any(line.startswith("The sheet ") for line in word_bounce(plan, MADE))
