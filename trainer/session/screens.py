"""From a state to what its screen shows."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from trainer.ports import Output
from trainer.session import intents, keys, words
from trainer.session.blind_views import describe_last, describe_open, view_blind
from trainer.session.day import list_others
from trainer.session.enter import name_enter
from trainer.session.frame import TITLES, make_frame
from trainer.session.intents import Intent
from trainer.session.monitoring import show_aids
from trainer.session.pages import PageView, View
from trainer.session.places import find_place
from trainer.session.program import PLAIN, Opening, act, open_program, tick
from trainer.session.reveal_views import view_end, view_reveal
from trainer.session.sounding import follow_sounding
from trainer.session.state import State
from trainer.session.trial_views import view_demonstration, view_question
from trainer.session.view import Button, DemonstrationView, MessageView, RevealView, TrialView
from trainer.session.world import World


def view(state: State, world: World) -> View:
    """Word the screen of a state, with what Enter presses, and the aids to hearing where no question is open."""
    return show_aids(name_enter(_view_screen(state, world)), state)


def _view_screen(state: State, world: World) -> View:
    """Word the screen of a state."""
    if state.screen == "cautions":
        return _view_cautions(state, world)
    if state.screen == "problem":
        return _view_problem(state, world)
    if state.screen == "leaving":
        return _view_leaving(state, world)
    if state.screen == "run" and state.run is not None:
        return _view_run(state, world)
    if state.screen == "blind" and state.blind is not None:
        return view_blind(state, state.blind, world)
    return find_place(state.screen).view(state, world)


def _view_problem(state: State, world: World) -> MessageView:
    """Word what could not be done; where it was a drill on this music, offer others."""
    offered = list_others(world, state.failed) if state.failed else ()
    frame = make_frame(state, world, "", "", keys.list_problem_keys(tuple(drill.drill for drill in offered)))
    sentences = ["Nothing that was answered is lost."]
    if offered:
        sentences.append("The line on top says why this question could not be made. Others that may work here:")
    buttons = [Button(drill.title, intents.StartDrill(drill.drill)) for drill in offered]
    home = TITLES.get(state.home, TITLES["today"])
    back = Button(f"Back to {home}", intents.GoOn(), main=True)
    return MessageView(frame, "That did not work.", tuple(sentences), (*buttons, back))


class Program:
    """A session for a face to draw and to act on: a state, kept."""

    def __init__(self, world: World, opening: Opening = PLAIN) -> None:
        self._world = world
        self.state = open_program(world, opening)
        self._worded: tuple[State, Output, int, View] | None = None

    @property
    def finished(self) -> bool:
        """Tell whether the program ends."""
        return self.state.finished

    def view(self) -> View:
        """Give what is shown now; it is worded anew only when something changed, the playhead apart."""
        output, today = self._world.player.output, self._world.today()
        known = self._worded
        if known is None or known[0] is not self.state or known[1] != output or known[2] != today:
            self._worded = known = (self.state, output, today, view(self.state, self._world))
        return self._with_playhead(known[3])

    def _with_playhead(self, worded: View) -> View:
        """Set the playhead where it is now, on a view that has one."""
        if not isinstance(worded, (DemonstrationView, TrialView, RevealView, PageView)) or worded.sounding is None:
            return worded
        return replace(worded, sounding=follow_sounding(worded.sounding, self._world))

    def describe_question(self) -> dict[str, Any] | None:
        """Describe the blind question that is open as plain facts; None where there is none."""
        return None if self.state.blind is None else describe_open(self.state.blind.held)

    def describe_answer(self) -> dict[str, Any] | None:
        """Describe the last answer of a blind round as plain facts; None where there is none."""
        held = self.state.judged if self.state.blind is None else self.state.blind.held
        return None if held is None else describe_last(held)

    def act(self, intent: Intent) -> None:
        """Take what the person wants."""
        self.state = act(self.state, intent, self._world)

    def tick(self) -> None:
        """Go on with what happens by itself."""
        self.state = tick(self.state, self._world)


def _view_cautions(state: State, world: World) -> MessageView:
    frame = make_frame(state, world, "Before the first sound", "", keys.CAUTIONS)
    return MessageView(
        frame,
        "Keep it comfortable.",
        words.CAUTIONS,
        (Button("I have read this", intents.GoOn(), True),),
    )


def _view_leaving(state: State, world: World) -> MessageView:
    if state.run is None:
        buttons = (Button("Close", intents.GoOn(), main=True), Button("Stay", intents.GoBack()))
        frame = make_frame(state, world, "", "", keys.LEAVING)
        return MessageView(frame, "Close Evenhand?", ("Everything you answered is kept.",), buttons)
    done = len(state.run.outcomes)
    frame = make_frame(state, world, state.run.drill.title, "", keys.LEAVING)
    sentence = f"{done} of {state.run.planned} trials are answered. All of them are kept."
    buttons = (Button("Leave", intents.GoOn(), main=True), Button("Stay", intents.GoBack()))
    return MessageView(frame, "Leave this run?", (sentence,), buttons)


def _view_run(state: State, world: World) -> View:
    run = state.run
    assert run is not None
    if run.phase == "finished":
        return view_end(state, run, world)
    if run.trial is None:
        frame = make_frame(state, world, run.drill.title, "one moment", keys.WAITING)
        sentence = "The move is made, and what it does is measured."
        return MessageView(frame, "Preparing the trial", (sentence,), (), busy=True)
    if run.phase == "demonstration":
        return view_demonstration(state, run, run.trial, world)
    if run.phase == "question":
        return view_question(state, run, run.trial, world)
    return view_reveal(state, run, run.trial, world)
