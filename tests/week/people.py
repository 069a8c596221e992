"""Who practises: a beginner, one who improves, one who stops for ten days, small monitors, an own mix, a month."""

from __future__ import annotations

from tests.week.person import Person

EVERY_DAY_OF_A_WEEK = tuple(range(7))


def improve_by_three_per_cent(day: int) -> float:
    """Thresholds that fall by three per cent a day."""
    return float(0.97**day)


PEOPLE = (
    Person("beginner, thresholds 1.4 times the typical", EVERY_DAY_OF_A_WEEK, ratio=1.4),
    Person("one who improves by 3 % a day", tuple(range(14)), ratio=1.2, improves=improve_by_three_per_cent),
    Person("one who stops for ten days", (*range(5), *range(15, 20))),
    Person("small monitors, no low bass", tuple(range(10)), "monitors", hears={"low": False, "top": True}),
    Person("own mix", EVERY_DAY_OF_A_WEEK, own_mix=True),
    Person("one who hears very little", tuple(range(10)), ratio=6.0),
    Person("fine ears", tuple(range(10)), ratio=0.25),
    Person("month of practice", tuple(range(30))),
)
