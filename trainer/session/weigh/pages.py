"""What each page of a weighing shows."""

from __future__ import annotations

from trainer.decisions.beam import OnBeam
from trainer.decisions.bounces import FEWEST
from trainer.decisions.round_verdicts import judge_preference
from trainer.decisions.round_words import head_round
from trainer.decisions.rounds import count_asked
from trainer.session import intents
from trainer.session.frame import make_frame, make_place_frame
from trainer.session.pages import (
    Advance,
    Balance,
    Choices,
    Entry,
    Items,
    Loop,
    PageView,
    Part,
    Prose,
    Sheet,
    View,
)
from trainer.session.round_parts import draw_round
from trainer.session.sounding import tell_sounding
from trainer.session.state import State
from trainer.session.typing_line import offer_paths
from trainer.session.view import Button, PlanItem, Sounding, Waveform
from trainer.session.weigh import keys
from trainer.session.weigh.flow import list_last
from trainer.session.weigh.rounds import KINDS, find_following, list_past
from trainer.session.weigh.words import (
    TELL_APART,
    TELL_APART_SAID,
    describe_balance,
    describe_next,
    describe_past,
    describe_place,
    describe_stretches,
    describe_verdict,
)
from trainer.session.world import World
from trainer.units import begin_large, write_number, write_time

OPENLY = "Just to listen: nothing is asked. That you heard them with their names stands beside later verdicts."
ABOUT = "Two to eight bounces of one song, brought into step and to one loudness, and compared blind."


def view_weigh(state: State, world: World) -> View:
    """Word the page that is shown."""
    weigh = state.weigh
    if weigh.page == "files" or weigh.beam is None:
        return _view_working(state, world) if weigh.page == "working" else _view_files(state, world)
    if weigh.page == "working":
        return _view_working(state, world)
    if weigh.page == "verdict":
        return _view_verdict(state, weigh.beam, world)
    if weigh.page == "names":
        return _view_names(state, weigh.beam, world)
    if weigh.page == "differences":
        return _view_differences(state, weigh.beam, world)
    return _view_beam(state, weigh.beam, world)


def _view_files(state: State, world: World) -> PageView:
    """Word the page on which bounces are named."""
    files, enough = state.weigh.files, len(state.weigh.files) >= FEWEST
    hint = "type a path, or drop a file on the window"
    entry = Entry("A bounce", state.typed, hint, offer_paths(state, world), "add it")
    items = tuple(
        PlanItem(number, world.files.name(file), file, "", "take away", intents.Do("remove", file), False)
        for number, file in enumerate(files, 1)
    )
    begin = Button("Put them on the beam", intents.Do("begin"), main=enough)
    add = Button("Add", intents.GoOn(), main=not enough)
    parts: list[Part] = [entry, Choices((add, begin) if enough else (add,)), Items(items)]
    last = tuple(_offer_again(number, those, world) for number, those in enumerate(list_last(world), 1))
    if last and not files:
        parts.append(Sheet("Weighed before", (Items(last),)))
    frame = make_place_frame(state, world, keys.FILES)
    return PageView(frame, "Weigh", ABOUT, (tuple(parts),))


def _offer_again(number: int, files: tuple[str, ...], world: World) -> PlanItem:
    """Offer a set of files that was weighed before."""
    names = ", ".join(world.files.name(file) for file in files)
    return PlanItem(number, names, "", "", "weigh again", intents.Do("again", str(number - 1)), False)


def _view_working(state: State, world: World) -> PageView:
    """Word how far the work is."""
    stage = state.weigh.stage
    part = Advance(stage.fraction, stage.words) if stage else Advance(0.0, "Beginning")
    cancel = Choices((Button("Cancel", intents.GoBack()),))
    frame = make_frame(state, world, "Weigh", "one moment", keys.WORKING)
    return PageView(
        frame, "Bringing them to the beam", "Nothing is changed in your files.", ((part, cancel),), busy=True
    )


def _view_beam(state: State, beam: OnBeam, world: World) -> PageView:
    """Word the bounces on the beam, and what can be asked."""
    following = find_following(beam, world)
    kind = KINDS.get(following)
    asked = count_asked(kind, len(beam.names)) if kind else 0
    sentence, label = describe_next(following, len(beam.names), asked)
    buttons: list[Button] = [Button(label, intents.GoOn(), main=True)] if label else []
    said = [Prose(sentence)]
    if following == "prefer":
        buttons.append(Button(TELL_APART, intents.Do("round", "apart")))
        said.append(Prose(TELL_APART_SAID, "muted"))
    if state.weigh.judged is not None:
        buttons.append(Button("The last verdict", intents.Do("verdict")))
    blind = Sheet("Blind", (*said, *((Choices(tuple(buttons)),) if buttons else ())))
    open_eyes = Sheet(
        "With the names shown",
        (Prose(OPENLY, "muted"), Choices(_offer_names())),
    )
    left: tuple[Part, ...] = (blind, _word_stretch(state, beam), open_eyes)
    frame = make_place_frame(state, world, keys.PAGE)
    headline = f"{' and '.join(beam.names) if len(beam.names) == 2 else f'{len(beam.names)} bounces'} on the beam"
    return PageView(frame, headline, f"{begin_large(describe_balance(beam))}.", (left, _word_files(beam)), (1.0, 1.0))


def _offer_names() -> tuple[Button, ...]:
    listen, differs = Button("Listen", intents.Do("names")), Button("What differs", intents.Do("differences"))
    return listen, differs, Button("Other files", intents.Do("files"))


def _word_stretch(state: State, beam: OnBeam) -> Sheet:
    """Word where they are heard, and offer other places."""
    offers = [
        Button(f"{name.capitalize()}, {describe_place(stretch)}", intents.Do("stretch", name))
        for name, stretch in beam.proposals.items()
        if stretch != beam.stretches[0]
    ]
    parts: list[Part] = [Prose(describe_stretches(beam))]
    if offers:
        parts.append(Choices(tuple(offers)))
    parts.append(Entry("Another place", state.typed, "where it begins, such as 1:05", does="go there"))
    return Sheet("Where", tuple(parts))


def _word_files(beam: OnBeam) -> tuple[Part, ...]:
    """Word how each file lies, and which are left out."""
    sheets: list[Part] = []
    for name, facts in zip(beam.names, beam.facts["files"], strict=True):
        head = f"{write_number(facts['integrated_lufs'])} LUFS, {write_number(facts['true_peak_dbtp'])} dBTP as a file."
        sheets.append(Sheet(name, tuple(Prose(line, "muted") for line in (head, *facts["sentences"]))))
    if beam.left_out:
        sheets.append(Sheet("Not on the beam", tuple(Prose(line) for line in beam.left_out)))
    return tuple(sheets)


def _view_verdict(state: State, beam: OnBeam, world: World) -> PageView:
    """Word what a round tells; the names are shown now."""
    held = state.weigh.judged
    assert held is not None
    past = list_past(beam, world)
    parts: list[Part] = [draw_round(held)]
    parts += [Prose(line) for line in describe_verdict(held, past)]
    favourite = judge_preference(held).favourite if held.kind == "prefer" else None
    if favourite is not None:
        parts += [Prose(line, "muted") for line in describe_past(past, held.versions[favourite], held.names[favourite])]
    following = find_following(beam, world)
    kind = KINDS.get(following)
    sentence, label = describe_next(following, len(beam.names), count_asked(kind, len(beam.names)) if kind else 0)
    parts.append(Sheet("What comes next", (Prose(sentence),)))
    buttons = [Button(label or "Back to the beam", intents.GoOn(), main=True)]
    buttons += [Button("Listen with the names", intents.Do("names")), Button("What differs", intents.Do("differences"))]
    frame = make_place_frame(state, world, keys.PAGE)
    return PageView(frame, head_round(held), "", (tuple(parts),), dock=(Choices(tuple(buttons)),))


def _view_names(state: State, beam: OnBeam, world: World) -> PageView:
    """Let them be heard with their names."""
    weigh = state.weigh
    versions = tuple(
        Button(f"{number}, {name}", intents.Listen(number), selected=weigh.version == number)
        for number, name in enumerate(beam.names, 1)
    )
    level_db = weigh.change_db
    a, b = (beam.names[place] for place in weigh.pair)
    side = "under" if level_db <= 0 else "over"
    below = f"What differs between {a} and {b} lies {write_number(abs(level_db), 0)} dB {side} the song."
    changed = Button("Only what differs", intents.OnlyWhatChanged(), selected=weigh.version == 0)
    pairs = tuple(
        Button(f"{beam.names[i]} and {beam.names[j]}", intents.Do("pair", f"{i} {j}"), selected=(i, j) == weigh.pair)
        for i in range(len(beam.names))
        for j in range(i + 1, len(beam.names))
    )
    parts: list[Part] = [Balance(versions, describe_balance(beam)), Loop(), Prose(below, "muted")]
    parts.append(Choices((changed, *(pairs if len(pairs) > 1 else ()))))
    frame = make_place_frame(state, world, keys.list_name_keys(len(beam.names)))
    return PageView(
        frame,
        "With the names shown",
        OPENLY,
        (tuple(parts),),
        waveform=_draw_waveform(beam, 0),
        sounding=_sound(state, beam, world),
    )


def _view_differences(state: State, beam: OnBeam, world: World) -> PageView:
    """Word what differs, measured, the weightiest first."""
    by_file = {facts["file"]: name for name, facts in zip(beam.names, beam.facts["files"], strict=True)}
    sheets: list[Part] = [
        Sheet(
            f"{by_file[found['b']]} against {by_file[found['a']]}",
            tuple(Prose(line) for line in found["sentences"]),
        )
        for found in beam.facts["differences"]
    ]
    written = f"Written to {state.weigh.written}." if state.weigh.written else ""
    copies = Button("Write the matched copies", intents.Do("copies"))
    page = Button("Write it to a page", intents.Do("page"), main=not written)
    frame = make_place_frame(state, world, keys.PAGE)
    dock: tuple[Part, ...] = (Choices((page, copies, Button("Back", intents.GoBack(), main=bool(written)))),)
    sentence = written or "Equally loud, on the stretch you hear."
    return PageView(frame, "What differs, measured", sentence, (tuple(sheets),), dock=dock)


def _draw_waveform(beam: OnBeam, stretch: int) -> Waveform:
    """Outline what is heard, as the mean of all."""
    place = beam.stretches[stretch]
    return Waveform(beam.outlines[stretch], write_time(place.start_s), write_time(place.end_s), beam.names[0])


def _sound(state: State, beam: OnBeam, world: World) -> Sounding:
    return tell_sounding(state.weigh.version, beam.sounds[0].shape[1], world)
