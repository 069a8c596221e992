"""The parts of the program, in the order in which they are offered; their titles stand in `frame`.

Mixes and weighing bring half of the program along: they are read when they are gone to, not before the first picture.
"""

from __future__ import annotations

from functools import cache

from trainer.session.drills_place import act_on_drills
from trainer.session.drills_view import view_drills
from trainer.session.first_start import act_on_first_start, enter_first_start, tick_first_start
from trainer.session.first_start_view import view_first_start
from trainer.session.place import Place
from trainer.session.progress_place import act_on_progress, enter_progress, tick_progress
from trainer.session.progress_place_view import view_progress
from trainer.session.setup_place import act_on_setup, enter_setup, tick_setup
from trainer.session.setup_view import view_setup
from trainer.session.today import act_on_today, view_today

NAMES = ("today", "drills", "mixes", "weigh", "progress", "setup", "first")
LIGHT = {
    "today": Place(view_today, act_on_today),
    "drills": Place(view_drills, act_on_drills),
    "progress": Place(view_progress, act_on_progress, tick_progress, enter_progress),
    "setup": Place(view_setup, act_on_setup, tick_setup, enter_setup),
    "first": Place(view_first_start, act_on_first_start, tick_first_start, enter_first_start),
}


@cache
def find_place(name: str) -> Place:
    """Find a part of the program by its name, one of `NAMES`."""
    if name == "mixes":
        from trainer.session.mixes.flow import act_on_mixes, take_mix_round, tick_mixes, view_mixes

        return Place(view_mixes, act_on_mixes, tick_mixes, take_round=take_mix_round)
    if name == "weigh":
        from trainer.session.weigh.flow import act_on_weigh, take_weigh_round, tick_weigh
        from trainer.session.weigh.pages import view_weigh

        return Place(view_weigh, act_on_weigh, tick_weigh, take_round=take_weigh_round)
    return LIGHT[name]
