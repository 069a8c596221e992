"""The first screen: what to do now, and where the ear stands."""

from __future__ import annotations

from trainer.session.view import TodayView
from trainer.ui.layout import Block, Row, Space, Stack, Words
from trainer.ui.pen import Pen
from trainer.ui.theme import HEADLINE, SENTENCE, SMALL
from trainer.ui.widgets.button import Buttons
from trainer.ui.widgets.card import Card
from trainer.ui.widgets.figure import Drawing
from trainer.ui.widgets.page import MARGIN, Page, draw_page
from trainer.ui.widgets.plan import PlanCard


def draw_today(pen: Pen, view: TodayView) -> None:
    """Draw the plan on the left and the ear on the right; a long plan leaves the button in sight."""
    start = Buttons((view.start,), "left", tall=54, narrowest=220, accent="begin")
    page = Page(view.frame, _body(view, start))
    width = pen.surface.get_width() - 2 * pen.px(MARGIN)
    if page.body.heights(pen, width)[0] > 0.66 * pen.surface.get_height():
        page = Page(view.frame, _body(view, None), start)
    draw_page(pen, page)


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
