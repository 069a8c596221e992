"""What the page of every step has: the song, the six steps, and the way on."""

from __future__ import annotations

from trainer.decisions.sheet import STEP_TITLES, STEPS, StepName
from trainer.session import intents
from trainer.session.frame import make_place_frame
from trainer.session.mixes.listening_budget import describe_listening
from trainer.session.mixes.moving import get_sheet
from trainer.session.pages import PageView, Part, Prose, Stages
from trainer.session.state import State
from trainer.session.view import Button, Key, Sounding, Waveform
from trainer.session.world import World

# Where moves, loudnesses and the whole are asked about blind.
BLIND_STEPS = ("balance", "sweetening", "loudness", "delivery")
# Of each step, what it is for; one line, also in the smallest window.
STEP_WORDS: dict[StepName, str] = {
    "aim": "First what you hear and want, then what was measured.",
    "listen_through": "From start to end: what is wrong, and where the song begins and ends.",
    "balance": "Your mix beside songs you know, and broad moves, if any.",
    "sweetening": "What may be added; none is the usual result.",
    "loudness": "How loud, and what it costs.",
    "delivery": "The whole once more, then the file and its check.",
}


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
    """Make the page of the open step, with all six steps to go to at its head.

    Over them stands one line on every page, so that they keep their height; a ``sentence`` goes below the first column.
    """
    said = (Prose(sentence, "muted"),) if sentence else ()
    sheet = get_sheet(state)
    title = sheet.aim.title or sheet.project
    headline = f"{title}, {sheet.aim.version}" if sheet.aim.version else title
    return PageView(
        frame=make_place_frame(state, world, keys),
        headline=headline,
        sentence=_word_step(state, world),
        columns=((make_stages(state), *columns[0], *said), *columns[1:]),
        widths=widths if len(columns) > 1 else (1.0,),
        dock=dock,
        waveform=waveform,
        sounding=sounding,
        words=words,
    )


def _word_step(state: State, world: World) -> str:
    """Word how much was heard blind today where blind rounds are offered, and elsewhere what the step is for."""
    offered = state.mix.page in ("step", "candidate") and state.mix.step in BLIND_STEPS
    return describe_listening(get_sheet(state), world.clock.now()) if offered else STEP_WORDS[state.mix.step]


def make_stages(state: State) -> Stages:
    """Show the six steps."""
    finished = get_sheet(state).finished
    steps = tuple(Button(title, intents.Do("step", step)) for step, title in STEP_TITLES.items())
    return Stages(steps, tuple(step in finished for step in STEPS), STEPS.index(state.mix.step))
