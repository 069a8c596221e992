"""The parts of the program, in the order in which they are offered; their titles stand in `frame`."""

from __future__ import annotations

from trainer.session.drills_place import act_on_drills
from trainer.session.drills_view import view_drills
from trainer.session.place import Place
from trainer.session.today import act_on_today, view_today
from trainer.session.weigh.flow import act_on_weigh, take_weigh_round, tick_weigh
from trainer.session.weigh.pages import view_weigh

PLACES: dict[str, Place] = {
    "today": Place(view_today, act_on_today),
    "drills": Place(view_drills, act_on_drills),
    "weigh": Place(view_weigh, act_on_weigh, tick_weigh, take_round=take_weigh_round),
}
