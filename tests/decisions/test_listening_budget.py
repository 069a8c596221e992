"""How much of a day's blind listening is used: by arithmetic on the picks of a sheet's rounds."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta, timezone

from tests.decisions.sheets import make_round, make_sheet
from trainer.decisions.listening_budget import (
    MOST_PICKS,
    count_picks,
    count_sitting,
    estimate_minutes,
    fits_in,
    list_rounds,
)
from trainer.decisions.sheet import Sheet
from trainer.session.mixes.listening_budget import count_fitting, describe_listening, fits_today, proposes_today

# The rounds of the sheet: 12 and 12 + 16 on its moves, 12 on its loudness, 12 on the whole.
PICKS = 64
DAY = make_round().day
EVENING = datetime.fromordinal(DAY).replace(hour=22, tzinfo=timezone(timedelta(hours=1)))


def test_picks_of_a_day_are_counted_wherever_they_stand() -> None:
    """Arithmetic: moves, loudness and the whole; other days are other sittings; a set-up is none."""
    sheet = make_sheet()
    assert count_picks(sheet, DAY) == PICKS and count_picks(sheet, DAY + 1) == 0
    other = replace(make_round(), day=DAY + 1, setup="monitors")
    more = replace(sheet, whole=(*sheet.whole, other, replace(other, day=DAY, answers=("1", "2", "1"))))
    assert (count_picks(more, DAY), count_picks(more, DAY + 1)) == (PICKS + 3, 12)
    assert len(list_rounds(more)) == len(list_rounds(sheet)) + 2


def test_half_an_hour_and_a_little_more_is_enough() -> None:
    """Arithmetic: at 12 s a pick 35 minutes are 175 picks."""
    assert MOST_PICKS * 12 == 35 * 60 and estimate_minutes(MOST_PICKS) == 35
    assert fits_in(163, 12) and not fits_in(164, 12) and fits_in(159, 16) and not fits_in(160, 16)


def test_it_is_told_in_words() -> None:
    """Arithmetic: 64 picks are 12.8 minutes; two rounds of 12 below the end only one of 12 fits, and no X."""
    sheet = make_sheet()
    assert describe_listening(sheet, EVENING) == "Blind listening today: about 13 of 35 minutes."
    tomorrow = describe_listening(sheet, EVENING + timedelta(days=1))
    assert tomorrow == "Blind listening today: none of 35 minutes yet."
    late = replace(sheet, whole=(make_round(),) * ((163 - (PICKS - 12)) // 12))
    assert count_picks(late, DAY) == 160
    assert fits_today(late, "prefer", 2, EVENING) and not fits_today(late, "apart", 2, EVENING)
    assert describe_listening(late, EVENING) == "Blind listening today: about 32 of 35 minutes."
    full = replace(late, whole=(*late.whole, make_round()))
    assert not fits_today(full, "prefer", 2, EVENING) and "Another day" in describe_listening(full, EVENING)
    over = replace(full, whole=(*full.whole, make_round()))
    assert describe_listening(over, EVENING) == "Blind listening today: about 37 minutes; 35 are enough."


def test_a_comparison_takes_so_many_picks_at_most() -> None:
    """Arithmetic: 12 + 16 + 12; before that 6 pairs of four and 5 repeats; of eight 28, 5, and 6 of four leaders."""
    assert [count_sitting(versions) for versions in (2, 4, 8)] == [40, 51, 79]
    sheet = replace(make_sheet(), candidates=(), whole=())
    sheet = replace(sheet, loudness=replace(sheet.loudness, rounds=()))

    def use(picks: int) -> Sheet:
        """Give a sheet with so many picks of today."""
        held = make_round()
        return replace(sheet, whole=(replace(held, answers=("1",) * (picks % 12)), *(held,) * (picks // 12)))

    # 175 less 40 is 135; less 51 is 124; less 80 is 95.
    for picks, two, four in ((124, True, True), (125, True, False), (135, True, False), (136, False, False)):
        assert proposes_today(use(picks), "prefer", (), EVENING) == two
        assert proposes_today(use(picks), "all", (), EVENING, 4) == four
    assert [count_fitting(use(picks), EVENING) for picks in (135, 136, 132)] == [1, 0, 1]
    # What is begun is heard out: only the next round has to fit.
    assert proposes_today(use(136), "prefer", (make_round(),), EVENING, 4)
