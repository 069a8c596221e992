"""Aids to hearing by key: on where names are shown, off and out of sight in every question."""

from __future__ import annotations

import ast
from collections import defaultdict
from dataclasses import replace
from pathlib import Path

import pytest

from tests.fakes import FakePlayer, FakeWorker, make_world
from tests.session.test_weigh import make_beam, open_beam
from tests.text.typing import lead
from trainer.exercise.drill import Drill
from trainer.ports import UNCHANGED, Monitoring
from trainer.session import intents, monitoring
from trainer.session.keys import LETTERS as ANSWER_LETTERS
from trainer.session.monitoring import LETTERS, allows_aids
from trainer.session.pages import PageView, View
from trainer.session.screens import Program, view
from trainer.session.state import State
from trainer.session.view import DemonstrationView, RevealView, TrialView
from trainer.session.world import World

SESSION = Path(monitoring.__file__).parent
EVERYTHING = Monitoring("sides", quiet=True)


@pytest.fixture
def world(drills: dict[str, Drill]) -> World:
    """Give a world of stand-ins, whose worker puts bounces on the beam."""
    return make_world(drills, worker=FakeWorker([make_beam() for _ in range(4)]))


def open_run(world: World) -> Program:
    """Begin a run; its labelled example is open."""
    program = Program(world)
    program.act(intents.StartDrill("high_shelf_8k"))
    program.tick()
    return program


def get_player(world: World) -> FakePlayer:
    """Give the stand-in that plays."""
    assert isinstance(world.player, FakePlayer)
    return world.player


def press(program: Program, key: str) -> None:
    """Do what a key means on the page that is shown, if it means anything."""
    for each in program.view().frame.keys:
        for name, intent in each.bindings:
            if name == key:
                program.act(intent)
                return


def read_said(shown: View) -> str:
    """Read what is said beside the loop."""
    assert isinstance(shown, (DemonstrationView, RevealView, PageView)) and shown.sounding is not None
    return shown.sounding.heard


def list_letters(path: Path) -> list[tuple[str, str]]:
    """List letters that a module binds, each with the intent it is bound to, as pairs ``("d", intents.Intent())``."""
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not (isinstance(node, ast.Tuple) and len(node.elts) == 2 and isinstance(node.elts[1], ast.Call)):
            continue
        first, called = node.elts[0], node.elts[1].func
        if isinstance(first, ast.Constant) and isinstance(first.value, str) and first.value.isalpha():
            name = called.attr if isinstance(called, ast.Attribute) else getattr(called, "id", "")
            found += [(first.value, name)] if len(first.value) == 1 else []
    return found


def test_no_letter_means_two_things() -> None:
    """Over the whole session: a letter has one intent; letters of answers and of aids are no others' letters."""
    meanings: dict[str, set[str]] = defaultdict(set)
    for path in SESSION.rglob("*.py"):
        for letter, intent in list_letters(path):
            meanings[letter].add(intent)
    assert {"a", "d", "r"} <= set(meanings)
    assert all(len(intents_of) == 1 for intents_of in meanings.values()), meanings
    assert not set(LETTERS.values()) & (set(meanings) | set(ANSWER_LETTERS))
    assert len(set(LETTERS.values())) == 4


@pytest.mark.parametrize(
    ("keys", "how", "said"),
    [
        ("m", Monitoring("mono"), "Mono: M switches it off. Equal loudness was set in stereo."),
        ("s", Monitoring("sides"), "Sides only: S switches it off. Equal loudness was set in stereo."),
        ("l", Monitoring("swapped"), "Left and right swapped: L switches it off"),
        ("h", Monitoring(quiet=True), "Quiet, −20 dB: H switches it off"),
        ("mh", Monitoring("mono", True), "Mono · Quiet, −20 dB: M and H switch them off"),
        ("hms", Monitoring("sides", True), "Sides only · Quiet, −20 dB: S and H switch them off"),
        ("mm", UNCHANGED, ""),
        ("hh", UNCHANGED, ""),
        ("mhm", Monitoring(quiet=True), "Quiet, −20 dB"),
    ],
)
def test_each_key_switches_on_and_off_and_says_so(keys: str, how: Monitoring, said: str, world: World) -> None:
    """Of mono, sides and swapped the last one counts; quiet goes with each; the player is told the same."""
    program = open_run(world)
    for key in keys:
        press(program, key)
    assert get_player(world).how == how
    assert read_said(program.view()).startswith(said) and bool(read_said(program.view())) == bool(said)


def test_the_keys_are_printed_and_say_what_they_do_now(world: World) -> None:
    """On the example and on the answer; before the key that leaves."""
    program = open_run(world)
    for _ in range(2):
        keys = program.view().frame.keys
        labels = [key.label for key in keys if key.shown]
        assert labels[-6:] == ["M", "S", "L", "H", "Esc", "?"]
        assert {key.does for key in keys} >= {"mono", "sides only", "swap L, R", "quiet"}
        press(program, "m")
        assert "mono off" in {key.does for key in program.view().frame.keys}
        if isinstance(program.view(), DemonstrationView):
            program.act(intents.GoOn())
            program.tick()
            program.act(intents.GiveAnswer("2"))
    assert isinstance(program.view(), RevealView)


def test_when_a_question_opens_all_are_off(world: World) -> None:
    """From the example to the question, and from the answer to the next one."""
    program, player = open_run(world), get_player(world)
    press(program, "s")
    press(program, "h")
    assert player.how == EVERYTHING
    program.act(intents.GoOn())
    program.tick()
    for _ in range(2):
        assert isinstance(program.view(), TrialView)
        assert player.how == UNCHANGED and program.state.monitoring == UNCHANGED
        program.act(intents.GiveAnswer("2"))
        press(program, "s")
        press(program, "h")
        assert player.how == EVERYTHING and isinstance(program.view(), RevealView)
        program.tick()
        program.act(intents.GoOn())


@pytest.mark.parametrize("aid", ["mono", "sides", "swapped", "quiet"])
def test_in_a_question_they_do_nothing_and_are_not_shown(aid: intents.Aid, world: World) -> None:
    """Neither by key nor by the intent itself; the view is the one without them, whatever the state says."""
    program, player = open_run(world), get_player(world)
    program.act(intents.GoOn())
    program.tick()
    before = program.view()
    assert isinstance(before, TrialView)
    assert not set(LETTERS.values()) & {name for key in before.frame.keys for name, _ in key.bindings}
    program.act(intents.ToggleMonitoring(aid))
    assert player.how == UNCHANGED and program.view() == before
    assert view(replace(program.state, monitoring=EVERYTHING), world) == before


def test_in_a_blind_round_they_do_nothing_and_are_off(world: World) -> None:
    """Heard with names in mono first; the round begins as it is, and stays so."""
    program, player = open_beam(world), get_player(world)
    program.act(intents.Do("names"))
    press(program, "m")
    assert player.how == Monitoring("mono") and read_said(program.view()).startswith("Mono")
    program.act(intents.GoBack())
    assert player.how == UNCHANGED
    program.act(intents.GoOn())
    before = program.view()
    assert isinstance(before, TrialView)
    for aid in LETTERS:
        program.act(intents.ToggleMonitoring(aid))
    assert player.how == UNCHANGED and program.view() == before
    assert view(replace(program.state, monitoring=EVERYTHING), world) == before


def test_what_is_loaded_anew_beside_names_is_heard_the_same_way(world: World) -> None:
    """Another pair's difference is another load, which begins as it is; what is on stays on."""
    program, player = open_beam(world), get_player(world)
    program.act(intents.Do("names"))
    press(program, "l")
    loads = len(player.loaded)
    program.act(intents.Do("pair", "1 0"))
    assert len(player.loaded) == loads + 1 and player.how == Monitoring("swapped")


@pytest.mark.parametrize(
    ("page", "allowed"),
    [("candidate", True), ("finding", True), ("systems", True), ("release", True), ("pass", False), ("step", False)],
)
def test_pages_of_a_mix(page: str, allowed: bool) -> None:
    """Where names are shown; never in the pass from start to end."""
    state = State(screen="mixes")
    assert allows_aids(replace(state, mix=replace(state.mix, page=page))) is allowed  # type: ignore[arg-type]
    assert not allows_aids(replace(state, screen="blind", mix=replace(state.mix, page="candidate")))


def test_in_a_terminal_the_words_do_the_same(world: World) -> None:
    """With names the words work; on other pages and in questions they are one line that says where."""
    said = lead(open_beam(world), ["[Listen]", "mono", "quiet", "mono", "quiet"])
    assert "Heard now: Mono. The same word again: as it is." in said
    assert "Heard now: Mono · Quiet, −20 dB. The same words again: as it is." in said
    assert said.index("Heard now: Quiet, −20 dB.") < said.index("Heard as it is.")
    player = get_player(world)
    lead(open_beam(world), ["sides"])
    assert player.how == UNCHANGED
