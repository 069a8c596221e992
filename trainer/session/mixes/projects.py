"""The list of projects, and a mix that is opened."""

from __future__ import annotations

from dataclasses import replace

from trainer.decisions.mix_jobs import MixOpened, OpenMix
from trainer.decisions.sheet import STEP_TITLES, Aim, Reference, Sheet
from trainer.errors import EvenhandError
from trainer.session import intents
from trainer.session.frame import make_place_frame
from trainer.session.intents import Intent
from trainer.session.mixes import keys
from trainer.session.mixes.moving import keep, open_step, put, want
from trainer.session.pages import Choices, Entry, Items, PageView, Part, Prose
from trainer.session.pages import Sheet as Card
from trainer.session.state import State
from trainer.session.typing_line import act_on_line, offer_paths
from trainer.session.view import Button, PlanItem
from trainer.session.world import World

LONGEST_NAME = 60
ABOUT = (
    "A finished mix, led through six steps to a master: each move is heard blind, at equal loudness, before it is kept."
)


def view_projects(state: State, world: World) -> PageView:
    """Word the list of projects."""
    entry = Entry("A finished mix", state.typed, "type a path, or drop a file on the window", offer_paths(state, world))
    items = tuple(_offer(number, name, world) for number, name in enumerate(world.projects.list_names(), 1))
    parts: list[Part] = [entry, Choices((Button("Open", intents.GoOn(), main=True),))]
    if items:
        parts.append(Card("Begun before", (Items(items),)))
    return PageView(make_place_frame(state, world, keys.PROJECTS), "My mixes", ABOUT, (tuple(parts),))


def act_on_projects(state: State, intent: Intent, world: World) -> State | None:
    """Open a mix by its path, or a project by its name."""
    typed = act_on_line(state, intent, world, paths=True)
    if typed is not None:
        return typed
    if isinstance(intent, intents.DropFile):
        return open_mix(state, intent.path, "", world)
    if isinstance(intent, intents.GiveAnswer):
        return open_mix(state, intent.text, "", world)
    if isinstance(intent, intents.GoOn):
        return open_mix(state, state.typed, "", world) if state.typed.strip() else state
    if isinstance(intent, intents.Do) and intent.what == "project":
        sheet = world.projects.read(intent.value)
        return want(put(state, sheet=sheet, path=sheet.mix.path), OpenMix(sheet.mix.path), world)
    return None


def open_mix(state: State, path: str, project: str, world: World) -> State:
    """Open a mix: in the project of that name, or of the file's name; a new one is begun where there is none."""
    whole = world.files.make_whole(path.strip().strip("'\""))
    name = project or name_project(world.files.name(whole))
    sheet = world.projects.read(name) if name in world.projects.list_names() else None
    fresh = put(state, sheet=sheet, path=whole, chosen=name, opened=None, compared=None, bottom=None, sweet=None)
    return want(fresh, OpenMix(whole), world)


def name_project(file: str) -> str:
    """Name a project after a file: without the suffix, and short enough for a folder."""
    return file.rsplit(".", 1)[0].strip().rstrip(".")[:LONGEST_NAME] or "mix"


def take_opened(state: State, opened: MixOpened, world: World) -> State:
    """Take in a mix that has been read: begin its sheet, go on with it, or say that it has changed."""
    state = put(
        state,
        opened=opened,
        compared=None,
        bottom=None,
        sweet=None,
        song=None,
        checked=None,
    )
    state = _open_sheet(state, opened, world)
    sheet, named = state.mix.sheet, state.mix.named_references
    if sheet is None or not named:
        return state
    known = {each.path for each in sheet.references}
    paths = [path for path in map(world.files.make_whole, named) if path not in known]
    added = tuple(Reference(path, world.files.read_hash(path)) for path in paths)
    return put(keep(state, replace(sheet, references=(*sheet.references, *added)), world), named_references=())


def _open_sheet(state: State, opened: MixOpened, world: World) -> State:
    """Begin a sheet, go on with the one there is, or say that the mix is another one."""
    sheet = state.mix.sheet
    if sheet is None:
        begun = world.clock.now().date().isoformat()
        title = state.mix.chosen
        sheet = Sheet(title, opened.mix, begun, aim=Aim(title=title), findings=opened.findings)
        return open_step(keep(state, sheet, world), "aim", world)
    if sheet.mix.sha256 != opened.mix.sha256:
        return put(state, page="changed")
    if sheet.mix.path != opened.mix.path:
        state = keep(state, replace(sheet, mix=opened.mix), world)
    following = next((step for step in STEP_TITLES if step not in sheet.finished), "delivery")
    return open_step(state, following, world)  # type: ignore[arg-type]


def view_changed(state: State, world: World) -> PageView:
    """Word that the mix is another one than the sheet was made for."""
    sheet = state.mix.sheet
    assert sheet is not None
    weighed = sum(bool(candidate.rounds) for candidate in sheet.candidates)
    moves = "one of its moves has" if weighed == 1 else f"{weighed} of its moves have"
    kept = f"{moves} been weighed, and keep{'s' if weighed == 1 else ''} that evidence, marked as carried over."
    if not weighed:
        kept = "no move was weighed yet."
    lines = (
        f"The sheet “{sheet.project}” was made for another sound than this file holds.",
        "The aim, the references and the reasons hold as they are. What was heard blind was heard on the earlier mix: "
        f"{kept}",
        "Findings and fades belong to the earlier mix; they are looked for again.",
    )
    buttons = (
        Button("Carry the sheet over", intents.Do("carry"), main=True),
        Button("Back", intents.GoBack()),
    )
    frame = make_place_frame(state, world, keys.CHANGED)
    parts: tuple[Part, ...] = (*(Prose(line) for line in lines), Choices(buttons))
    return PageView(frame, "The mix has changed", "", (parts,))


def act_on_changed(state: State, intent: Intent, world: World) -> State | None:
    """Carry the sheet over, or go back."""
    if isinstance(intent, intents.GoBack):
        return put(state, page="projects", sheet=None, opened=None)
    if not (isinstance(intent, intents.GoOn) or (isinstance(intent, intents.Do) and intent.what == "carry")):
        return None
    sheet, opened = state.mix.sheet, state.mix.opened
    assert sheet is not None and opened is not None
    edges, tempo = opened.edges, sheet.tempo
    carried = replace(
        sheet,
        mix=opened.mix,
        carried_from=sheet.mix.sha256,
        findings=opened.findings,
        heard_to_s=None,
        # The song is as fast as before; where its first sound is may have changed.
        tempo=replace(tempo, first_s=edges.music_from_s) if tempo is not None and edges is not None else None,
        fades=Sheet("", opened.mix, "").fades,
        loudness=Sheet("", opened.mix, "").loudness,
        finished=tuple(step for step in sheet.finished if step == "aim"),
    )
    return open_step(keep(state, carried, world), "listen_through", world)


def _offer(number: int, name: str, world: World) -> PlanItem:
    """Offer a project with the steps that are finished."""
    try:
        sheet = world.projects.read(name)
        done = f"{len(sheet.finished)} of {len(STEP_TITLES)} steps"
        detail = world.files.name(sheet.mix.path)
    except EvenhandError as error:
        done, detail = "cannot be read", str(error).splitlines()[0]
    return PlanItem(number, name, detail, "", done, intents.Do("project", name), False)
