"""What Enter does on a screen: it presses the main button, and says so in that button's words."""

from __future__ import annotations

from dataclasses import replace

from trainer.session.intents import GoBack
from trainer.session.pages import Choices, PageView, View
from trainer.session.view import (
    Button,
    DemonstrationView,
    EndView,
    Key,
    MessageView,
    RevealView,
    TodayView,
    TrialView,
)
from trainer.units import begin_small


def name_enter(view: View) -> View:
    """Give a view whose Enter says and does what its main button does, or what its line is typed for.

    Parameters
    ----------
    view : View
        A key without words among its keys is Enter, still to be named; keys with words stay as they are.

    Returns
    -------
    View
        Without that key where there is nothing for Enter to press.
    """
    keys = tuple(named for key in view.frame.keys if (named := _name(key, view)) is not None)
    return view if keys == view.frame.keys else replace(view, frame=replace(view.frame, keys=keys))


def find_main(view: View) -> Button | None:
    """Find the one button of a screen that is accented."""
    return next((button for button in _list_buttons(view) if button.main), None)


def _name(key: Key, view: View) -> Key | None:
    """Name one key; what only goes back is Esc's in the footer."""
    if key.does:
        return key
    entry = view.entry if isinstance(view, PageView) else None
    if entry is not None and entry.does and entry.text.strip():
        return replace(key, does=entry.does)
    main = find_main(view)
    if main is None:
        return None
    bindings = tuple((name, main.intent) for name, _ in key.bindings)
    shown = key.shown and not isinstance(main.intent, GoBack)
    return replace(key, does=begin_small(main.label), bindings=bindings, shown=shown)


def _list_buttons(view: View) -> tuple[Button, ...]:
    """List what a screen offers to press."""
    if isinstance(view, PageView):
        return tuple(each for part in view.list_parts() if isinstance(part, Choices) for each in part.buttons)
    if isinstance(view, TrialView):
        return view.answers
    if isinstance(view, (MessageView, EndView)):
        return view.buttons
    if isinstance(view, TodayView):
        return (view.start,)
    assert isinstance(view, (DemonstrationView, RevealView))
    return (view.go_on,)
