"""Aids to hearing in the window: said below the loop, offered to the mouse, absent from questions."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.ui import sample_views
from tests.ui.canvas import draw
from trainer.ports import Monitoring
from trainer.session.intents import ToggleMonitoring
from trainer.session.monitoring import LETTERS, describe_aids, list_aid_keys
from trainer.session.view import DemonstrationView, RevealView
from trainer.ui.keymap import find_intent
from trainer.ui.pen import Pen

SIZES = ((1280, 800), (960, 600))
HOW = Monitoring("sides", quiet=True)


def heard(view: RevealView | DemonstrationView) -> RevealView | DemonstrationView:
    """Give a view with its aids, two of them on."""
    frame = replace(view.frame, keys=(*view.frame.keys, *list_aid_keys(HOW)))
    return replace(view, frame=frame, sounding=replace(view.sounding, heard=describe_aids(HOW)))


def list_aims(pen: Pen) -> set[object]:
    """List the aids that can be clicked."""
    return {hit.intent for hit in pen.hits if isinstance(hit.intent, ToggleMonitoring)}


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("view", [sample_views.reveal(), sample_views.demonstration()], ids=["answer", "example"])
def test_each_can_be_pressed_and_clicked(view: RevealView | DemonstrationView, size: tuple[int, int]) -> None:
    """By its letter and on its pill."""
    shown = heard(view)
    assert list_aims(draw(shown, size)) == {ToggleMonitoring(aid) for aid in LETTERS}
    for aid, letter in LETTERS.items():
        assert find_intent(shown, letter) == ToggleMonitoring(aid)


@pytest.mark.parametrize("size", SIZES)
def test_what_is_on_takes_a_line_of_its_own_below_the_loop(size: tuple[int, int]) -> None:
    """The loop moves up by it; without it nothing is kept free."""
    plain, shown = sample_views.reveal(), heard(sample_views.reveal())
    same_keys = replace(shown, sounding=plain.sounding)
    without, with_it = draw(same_keys, size).wave, draw(shown, size).wave
    assert without is not None and with_it is not None
    assert with_it.bottom < without.bottom or with_it.height < without.height


def test_a_question_offers_none() -> None:
    """Neither by letter nor by mouse."""
    view = sample_views.trial()
    assert not list_aims(draw(view, SIZES[0]))
    assert all(find_intent(view, letter) is None for letter in LETTERS.values())
