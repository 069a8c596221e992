"""The first screen: what to do now, and where the ear stands."""

from __future__ import annotations

from trainer.session.view import TodayView
from trainer.ui.layout import Block, Row, Space, Stack, Words
from trainer.ui.pen import Pen
from trainer.ui.theme import HEADLINE, SENTENCE, SMALL
from trainer.ui.widgets.button import Buttons
from trainer.ui.widgets.card import Card
from trainer.ui.widgets.figure import Drawing
from trainer.ui.widgets.page import draw_body, draw_frame
from trainer.ui.widgets.plan import PlanCard


def draw_today(pen: Pen, view: TodayView) -> None:
    """Draw the plan on the left and the ear on the right; a long plan leaves the button in sight."""
    start = Buttons((view.start,), "left", tall=54, narrowest=220, accent="begin")
    room = draw_frame(pen, view.frame)
    whole = _body(view, start)
    if whole.heights(pen, room.width)[0] <= room.height:
        draw_body(pen, room, whole)
    else:
        draw_body(pen, room, _body(view, None), start)


def _body(view: TodayView, start: Buttons | None) -> Row:
    blocks: list[Block] = [Words(view.headline, HEADLINE), Space(4), Words(view.sentence, SENTENCE, "muted")]
    blocks.append(Space(24, 12))
    for item in view.items:
        blocks += [PlanCard(item), Space(14, 8)]
    if start is not None:
        blocks += [Space(8), start, Space(24, 12)]
    blocks += [Words(view.caution, SMALL, "muted", measure=640), Space(8)]
    ears = Card(view.ears_title, Drawing(view.ears))
    if view.ears.width <= 0:
        return Row((Stack(tuple(blocks)),), (1,), 40, 1)
    return Row((Stack(tuple(blocks)), ears), (700, 460), 40, 330)
