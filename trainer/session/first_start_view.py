"""The steps of a first start, worded."""

from __future__ import annotations

from dataclasses import replace

from trainer.exercise.sound_check import SIDES, SIDES_LUFS, SIDES_UNDER_MUSIC_DB
from trainer.session import intents, keys
from trainer.session.first_start import STEPS, find_first_drill
from trainer.session.first_start_state import Step
from trainer.session.frame import make_frame
from trainer.session.pages import Balance, Choices, Entry, Items, PageView, Part, Prose, Stages
from trainer.session.setup_names import list_names, read_note
from trainer.session.state import State
from trainer.session.view import Button, Key, PlanItem, Sounding
from trainer.session.words import NO_SOUND_RUN
from trainer.session.world import World
from trainer.units import write_number

LABELS: dict[Step, str] = {
    "level": "Level",
    "sides": "Left and right",
    "setup": "Set-up",
    "volume": "Volume",
    "drill": "First drill",
}
LEVEL = (
    "Turn your volume right down, then play the music. It fades in, as loud as the drills will be.",
    "Turn your volume up until it is comfortable and you could still talk over it, and no further. Leave it there.",
)
HEARD = (
    f"Leave the volume as it is: this noise stays {write_number(SIDES_UNDER_MUSIC_DB, 0)} dB below the music. "
    "Do not turn it up to match.",
    "1 comes from the left, 2 from the right. If not, the two sides are exchanged.",
    "3 comes from the middle; on headphones from inside the head. 4 is hollow and comes from no place.",
    "If 3 is the hollow one, one side is connected upside down: turn the two wires of one loudspeaker.",
)
MUSIC = Key("Space", "play or pause the music", (("space", intents.ToggleSound()),))
NOISE = Key("Space", "start or pause the noise", (("space", intents.ToggleSound()),))
LEAVE = Key("Esc", "leave out the rest", (("escape", intents.GoBack()),))


def view_first_start(state: State, world: World) -> PageView:
    """Word the step that is open."""
    words = {
        "level": _view_level,
        "sides": _view_sides,
        "setup": _view_setup,
        "volume": _view_volume,
        "drill": _view_drill,
    }
    return words[state.first.step](state, world)


def _make_page(
    state: State, world: World, headline: str, sentence: str, own: tuple[Key, ...], parts: tuple[Part, ...], on: Button
) -> PageView:
    """Put a step's page together: the steps on top, the way on at the foot."""
    known = STEPS[:-1] if state.first.again else STEPS
    current = known.index(state.first.step)
    stages = Stages(
        tuple(Button(LABELS[step], intents.Do("step", step)) for step in known),
        tuple(place < current for place in range(len(known))),
        current,
    )
    enter = keys.ENTER
    frame = make_frame(state, world, "Sound check", LABELS[state.first.step], (*own, enter, LEAVE, keys.ALL_KEYS))
    rest = Button("Leave out the rest", intents.Do("leave"))
    return PageView(frame, headline, sentence, ((stages, *parts),), dock=(Choices((on, rest)),))


def _view_level(state: State, world: World) -> PageView:
    """Let a level be set with music, which begins when it is asked for."""
    first, ready = state.first, state.made is not None
    playing = ready and world.player.position().playing
    label = "Pause the music" if playing else "Play the music"
    music = Choices((Button(label, intents.ToggleSound(), main=not first.heard),)) if ready else None
    parts: tuple[Part, ...] = (
        *(Prose(sentence) for sentence in LEVEL),
        *((music,) if music else ()),
        Prose(_tell_music(state, playing), "muted"),
    )
    own = (MUSIC,) if ready else ()
    words = "I have set a comfortable level" if first.heard else "Go on without setting a level"
    on = Button(words, intents.GoOn(), main=first.heard or first.missing)
    return _make_page(state, world, "How loud is it?", "", own, parts, on)


def _tell_music(state: State, playing: bool) -> str:
    """Say whether music sounds, and how loud it was measured to be."""
    if state.first.missing:
        return "There is no music to play. Keep your volume low until the first drill sounds."
    if state.made is None:
        return "The music is being prepared. Nothing sounds."
    level = f"{write_number(state.made.versions[0].loudness_lufs)} LUFS"
    return f"Music is playing, at {level}." if playing else f"The music is silent. It will play at {level}."


def _view_sides(state: State, world: World) -> PageView:
    """Let left, right, middle and hollow be heard."""
    versions = tuple(
        Button(f"{number}, {side}", intents.Listen(number), selected=number == state.first.side)
        for number, side in enumerate(SIDES, 1)
    )
    level = f"noise at {write_number(SIDES_LUFS, 0)} LUFS; one side alone is softer"
    parts: tuple[Part, ...] = (Balance(versions, level), *(Prose(sentence) for sentence in HEARD))
    own = (keys.bind_versions(len(SIDES)), NOISE, keys.ARROWS)
    on = Button("Go on", intents.GoOn(), main=True)
    page = _make_page(state, world, "Left, right, middle", "", own, parts, on)
    return replace(page, sounding=Sounding(state.first.side, 0.0, world.player.position().playing))


def _view_setup(state: State, world: World) -> PageView:
    """Let the set-up be named."""
    items = tuple(
        PlanItem(0, name, "", "", "in use" if name == world.setup_named else "use it", intents.Do("use", name), False)
        for name in list_names(world.store)
    )
    entry = Entry("What do you listen on?", state.typed, "a name, such as small monitors")
    on = Button("Use this name" if state.typed.strip() else f"Stay with {world.setup_named}", intents.GoOn(), main=True)
    sentence = "Every set-up has thresholds of its own, so it has a name."
    return _make_page(state, world, "The set-up", sentence, (), (entry, Items(items)), on)


def _view_volume(state: State, world: World) -> PageView:
    """Let the volume's position be noted."""
    name = world.setup_named
    noted = read_note(world.store, name)
    entry = Entry(f"Volume of {name}", state.typed, "such as: interface at 11 o’clock, system at 60 %")
    parts: tuple[Part, ...] = (entry, *((Prose(f"Noted before: {noted}.", "muted"),) if noted else ()))
    on = Button("Note it" if state.typed.strip() else "Go on without a note", intents.GoOn(), main=True)
    sentence = "Where does the volume stand now? Noted, it can be found again on another day."
    return _make_page(state, world, "Its volume", sentence, (), parts, on)


def _view_drill(state: State, world: World) -> PageView:
    """Offer the first drill of the plan."""
    name = find_first_drill(world)
    parts: tuple[Part, ...] = ()
    if name:
        drill = world.drills[name]
        parts = (Prose(drill.title, "title"), Prose(drill.question), Prose(drill.teaching.does, "muted"))
        parts += (Prose(NO_SOUND_RUN, "small"),) if world.player.output.silent else ()
    on = Button("Start" if name else "Go to Today", intents.GoOn(), main=True)
    sentence = "A few minutes. An example comes first, large and named; every answer is kept."
    return _make_page(state, world, "The first drill", sentence, (), parts, on)
