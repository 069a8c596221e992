"""What the page of every step has: the song, the six steps, and the way on."""

from __future__ import annotations

from trainer.decisions.sheet import STEP_TITLES, STEPS
from trainer.session import intents
from trainer.session.frame import make_place_frame
from trainer.session.mixes.listening_budget import describe_listening
from trainer.session.mixes.moving import get_sheet
from trainer.session.pages import PageView, Part, Stages
from trainer.session.state import State
from trainer.session.view import Button, Key, Sounding, Waveform
from trainer.session.world import World

# Where moves, loudnesses and the whole are asked about blind.
BLIND_STEPS = ("balance", "sweetening", "loudness", "delivery")


def make_step_page(
    state: State,
    world: World,
    columns: tuple[tuple[Part, ...], ...],
    keys: tuple[Key, ...],
    sentence: str = "",
    dock: tuple[Part, ...] = (),
    widths: tuple[float, ...] = (1.0, 1.0),
    waveform: Waveform | None = None,
    sounding: Sounding | None = None,
    words: str = "",
) -> PageView:
    """Make the page of the open step, with all six steps to go to at its head."""
    sheet = get_sheet(state)
    title = sheet.aim.title or sheet.project
    headline = f"{title}, {sheet.aim.version}" if sheet.aim.version else title
    return PageView(
        frame=make_place_frame(state, world, keys),
        headline=headline,
        sentence=" ".join(filter(None, (_word_listening(state, world), sentence))),
        columns=((make_stages(state), *columns[0]), *columns[1:]),
        widths=widths if len(columns) > 1 else (1.0,),
        dock=dock,
        waveform=waveform,
        sounding=sounding,
        words=words,
    )


def _word_listening(state: State, world: World) -> str:
    """Word how much was heard blind today, where blind rounds are offered."""
    offered = state.mix.page in ("step", "candidate") and state.mix.step in BLIND_STEPS
    return describe_listening(get_sheet(state), world.clock.now()) if offered else ""


def make_stages(state: State) -> Stages:
    """Show the six steps."""
    finished = get_sheet(state).finished
    steps = tuple(Button(title, intents.Do("step", step)) for step, title in STEP_TITLES.items())
    return Stages(steps, tuple(step in finished for step in STEPS), STEPS.index(state.mix.step))
