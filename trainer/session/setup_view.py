"""What can be set, worded."""

from __future__ import annotations

from trainer.exercise.drill import REACHES
from trainer.exercise.reach import find_answer, find_check
from trainer.session import intents, keys
from trainer.session.answer_page import BACK, offer_back, view_answers
from trainer.session.answer_tones import TONES, read_choice
from trainer.session.frame import make_place_frame
from trainer.session.pages import Choices, Entry, Items, PageView, Part, Prose, Sheet
from trainer.session.setup_names import list_names, read_note
from trainer.session.setup_place import PAGES
from trainer.session.setup_state import LARGEST_TEXT, SMALLEST_TEXT, Page
from trainer.session.state import State
from trainer.session.typing_line import offer_paths
from trainer.session.view import Button, Key, PlanItem
from trainer.session.words import CAUTIONS
from trainer.session.world import World
from trainer.units import write_frequency, write_number

TITLES: dict[Page, str] = {
    "sound": "Sound",
    "setups": "Listening set-up",
    "look": "Look",
    "answers": "Answers",
    "history": "History",
    "hearing": "Hearing",
}
PLAYED = {"low": "the lowest bass", "top": "the highest top"}
DIGITS = Key(
    " ".join(str(number) for number in range(1, len(PAGES) + 1)),
    "open that one",
    tuple((str(number), intents.Do("page", page)) for number, page in enumerate(PAGES, 1)),
)
TONE = Key("Space", "test tone", (("space", intents.ToggleSound()),))
COMPLETE = Key("Tab", "complete the path", (), True)


def view_setup(state: State, world: World) -> PageView:
    """Word the page that is shown."""
    page = state.setting.page
    if page == "all":
        return _view_all(state, world)
    words = {
        "sound": _view_sound,
        "setups": _view_setups,
        "note": _view_note,
        "look": _view_look,
        "answers": view_answers,
        "history": _view_history,
        "hearing": _view_hearing,
    }
    return words[page](state, world)


def _view_all(state: State, world: World) -> PageView:
    """List what can be set, and how it is set now."""
    output = world.player.output
    count = len(world.store.list_trials())
    details = {
        "sound": f"{output.name}, {write_latency(output.latency_s)}",
        "setups": world.setup_named,
        "look": f"{state.theme}, text at {state.text_percent} %",
        "answers": f"{TONES[read_choice(world.store)].lower()} after an answer",
        "history": f"{count} answer{'s' if count != 1 else ''}",
        "hearing": "what to keep to",
    }
    items = tuple(
        PlanItem(n, TITLES[page], "", "", details[page], intents.Do("page", page), n - 1 == state.setting.chosen)
        for n, page in enumerate(PAGES, 1)
    )
    frame = make_place_frame(
        state, world, (DIGITS, keys.bind_enter("open", intents.GoOn()), keys.CHOOSE, BACK, keys.ALL_KEYS)
    )
    return PageView(frame, "Setup", "", ((Items(items),),))


def write_latency(latency_s: float) -> str:
    """Write how long sound takes from the program to the output, as far as the system tells."""
    return f"{write_number(1000 * latency_s, 0)} ms latency"


def _view_sound(state: State, world: World) -> PageView:
    """Word where sound goes, and offer a tone and the sound check."""
    output, setting = world.player.output, state.setting
    rate = write_frequency(output.rate_hz)
    parts: list[Part] = [
        Prose(f"Sound goes to: {output.name} ({output.kind}), {rate}, {write_latency(output.latency_s)}.")
    ]
    playing = setting.gaps is not None and world.player.position().playing
    if setting.gaps is not None:
        heard = "No output: the tone cannot be heard." if output.silent else f"Interruptions so far: {setting.gaps}."
        parts.append(Prose(heard))
    label = "Stop the tone" if playing else "Play a quiet test tone"
    tone = Button(label, intents.ToggleSound(), main=True)
    parts.append(Choices((tone, Button("Sound check", intents.GoTo("first")), offer_back())))
    parts.append(Sheet("What this computer offers", tuple(Prose(line, "small") for line in setting.outputs)))
    frame = make_place_frame(state, world, (TONE, BACK, keys.ALL_KEYS))
    return PageView(frame, "Sound", "", (tuple(parts),))


def _view_setups(state: State, world: World) -> PageView:
    """List the set-ups with their notes and what they were said to play."""
    setting = state.setting
    items = tuple(
        PlanItem(
            0,
            name,
            " · ".join(filter(None, (read_note(world.store, name), describe_reach(world, name)))),
            "",
            "in use" if name == world.setup_named else "",
            intents.Do("use", name),
            place == setting.chosen,
        )
        for place, name in enumerate(list_names(world.store))
    )
    entry = Entry("Add a set-up", state.typed, "a name, such as small monitors")
    note = Button(f"Note the volume of {world.setup_named}", intents.Do("page", "note"))
    enter = keys.bind_enter("add the name; without one, use what is chosen", intents.GoOn())
    frame = make_place_frame(state, world, (enter, keys.CHOOSE, BACK, keys.ALL_KEYS))
    about = "Each set-up has thresholds of its own. An answer counts for the one that is in use."
    return PageView(
        frame, "Listening set-up", setting.said or about, ((entry, Items(items), Choices((note, offer_back()))),)
    )


def describe_reach(world: World, name: str) -> str:
    """Say what a set-up was said to play; nothing where it was not asked yet."""
    trials, said = world.store.list_trials(), []
    for reach in REACHES:
        check = find_check(world.drills.values(), reach)
        answer = None if check is None else find_answer(check, trials, name)
        said += [f"{PLAYED[reach]}: {answer}"] if answer else []
    return "; ".join(said)


def _view_note(state: State, world: World) -> PageView:
    """Take a note of the volume's position."""
    name = world.setup_named
    noted = read_note(world.store, name)
    entry = Entry("Where its volume stands", state.typed, "such as: interface at 11 o’clock, system at 60 %")
    frame = make_place_frame(state, world, (keys.ENTER, BACK, keys.ALL_KEYS))
    sentence = f"Noted so far: {noted}." if noted else "Note it, so that you find it again on another day."
    return PageView(
        frame,
        f"Volume of {name}",
        sentence,
        ((entry, Choices((Button("Note it", intents.GoOn(), main=True), offer_back()))),),
    )


def _view_look(state: State, world: World) -> PageView:
    """Offer both themes, and larger and smaller text."""
    themes = Choices(
        tuple(
            Button(theme.capitalize(), intents.Do("theme", theme), selected=theme == state.theme)
            for theme in ("paper", "night")
        )
    )
    sizes = Choices(
        (
            Button("Smaller", intents.ChangeTextSize(-1)),
            Button("100 %", intents.ChangeTextSize(0), selected=state.text_percent == 100),
            Button("Larger", intents.ChangeTextSize(1)),
        )
    )
    parts: tuple[Part, ...] = (
        Prose("Theme", "title"),
        themes,
        Prose(f"Text at {state.text_percent} %", "title"),
        Prose(f"{SMALLEST_TEXT} to {LARGEST_TEXT} %.", "muted"),
        sizes,
        Choices((offer_back(),)),
    )
    return PageView(make_place_frame(state, world, (BACK, keys.ALL_KEYS)), "Look", "", (parts,))


def _view_history(state: State, world: World) -> PageView:
    """Say where the data are, and let a history be written to a file or taken in from one."""
    setting, merging = state.setting, state.setting.carry == "merge"
    ways = Choices(
        (
            Button("Write to a file", intents.Do("carry", "export"), selected=not merging),
            Button("Take in from a file", intents.Do("carry", "merge"), selected=merging),
        )
    )
    hint = "the path of a history that was written" if merging else "a path for a new file, such as history.jsonl"
    entry = Entry("File", state.typed, hint, offer_paths(state, world, "history"))
    does = "take it in" if merging else "write it"
    frame = make_place_frame(state, world, (keys.ENTER, COMPLETE, BACK, keys.ALL_KEYS))
    about = (
        "Answers that are here already are not counted twice, and nothing is taken away."
        if merging
        else "All answers go into one file, for another computer. A file that exists is not written over."
    )
    folder = Prose(f"Everything is kept in {world.equipment.data_folder}", "small")
    go = Button(does.capitalize(), intents.GoOn(), main=True)
    parts: tuple[Part, ...] = (ways, Prose(about), entry, Choices((go, offer_back())), folder)
    return PageView(frame, "History", setting.said, (parts,))


def _view_hearing(state: State, world: World) -> PageView:
    """Give the cautions again."""
    parts: tuple[Part, ...] = (*(Prose(sentence) for sentence in CAUTIONS), Choices((offer_back(),)))
    return PageView(make_place_frame(state, world, (BACK, keys.ALL_KEYS)), "Keep it comfortable.", "", (parts,))
