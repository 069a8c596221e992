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
    return replace(view, frame=frame, sounding=replace(view.sounding, heard=describe_aids(HOW), aids=True))


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
    """The line is kept free where there are aids, so that nothing jumps; elsewhere it is not."""
    shown = heard(sample_views.reveal())
    off, none = (replace(shown, sounding=replace(shown.sounding, heard="", aids=aids)) for aids in (True, False))
    with_it, without, never = (draw(view, size).wave for view in (shown, off, none))
    assert with_it is not None and without is not None and never is not None
    assert with_it == without
    assert without.bottom < never.bottom or without.height < never.height


def test_a_question_offers_none() -> None:
    """Neither by letter nor by mouse."""
    view = sample_views.trial()
    assert not list_aims(draw(view, SIZES[0]))
    assert all(find_intent(view, letter) is None for letter in LETTERS.values())


def test_equal_loudness_is_claimed_only_where_it_was_set() -> None:
    """In mono and sides a drill about level was matched in no way at all."""
    for channels in ("mono", "sides"):
        how = Monitoring(channels)  # type: ignore[arg-type]
        assert "Equal loudness" in describe_aids(how) and "Equal loudness" not in describe_aids(how, matched=False)
