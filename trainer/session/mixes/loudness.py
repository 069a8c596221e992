"""The fifth step: four loudnesses of the whole song, heard equally loud; what each cost is shown after the choice."""

from __future__ import annotations

from dataclasses import replace

from trainer.decisions.mix_jobs import TryRungs, VersionsHeard
from trainer.decisions.round_verdicts import Next, choose_pair, find_next, judge_order, judge_preference
from trainer.decisions.rounds import Kind, Round, count_asked
from trainer.decisions.rungs import AROUND_AIM_LU, FEWEST_RUNGS, list_around, list_wide
from trainer.decisions.sheet import Sheet, Verdict
from trainer.session import intents
from trainer.session.intents import Intent
from trainer.session.mixes import keys
from trainer.session.mixes.candidates import word_round
from trainer.session.mixes.moving import ask_blind, finish_step, get_sheet, keep, put, want
from trainer.session.mixes.results import word_costs
from trainer.session.mixes.step_page import make_step_page
from trainer.session.pages import Choices, PageView, Part, Prose, Table
from trainer.session.pages import Sheet as Card
from trainer.session.sittings import list_sitting
from trainer.session.state import State
from trainer.session.view import Button
from trainer.session.words import count_words
from trainer.session.world import World
from trainer.units import write_number

USUAL_LUFS, USUAL_CEILING_DBTP = -14.0, -1.0
# Nothing turns a song down there, whatever loudness is usual.
PLAYED_AS_IT_IS = ("cd", "club")
KINDS: dict[Next, Kind] = {"all": "all", "prefer": "prefer", "apart": "apart", "again": "prefer"}
ASKS: dict[Next, str] = {
    "all": "Every two, blind",
    "prefer": "Up to 12 picks between the two that lead",
    "apart": "Up to 16 times X between these two",
    "again": "Up to 12 picks more",
}


def find_aim(sheet: Sheet, world: World) -> tuple[float, float]:
    """Find the loudness aimed at, the loudest of the targets', and the lowest ceiling of them: LUFS and dBTP."""
    targets = [target for name, target in world.projects.list_targets().items() if name in sheet.aim.targets]
    aims = [target.aim_lufs for target in targets if target.aim_lufs is not None]
    ceilings = [
        float(rule.limit)
        for target in targets
        for rule in target.rules
        if rule.rule == "true_peak_dbtp" and rule.way == "most" and isinstance(rule.limit, (int, float))
    ]
    return max(aims, default=USUAL_LUFS), min(ceilings, default=USUAL_CEILING_DBTP)


def view_loudness(state: State, world: World) -> PageView:
    """Word the rungs: what is asked on the left, and after the choice what each cost on the right."""
    sheet = get_sheet(state)
    aim_lufs, ceiling_dbtp = find_aim(sheet, world)
    left: list[Part] = [_word_trying(state, aim_lufs, ceiling_dbtp)]
    if len(sheet.loudness.rungs) >= FEWEST_RUNGS:
        left.append(_word_rounds(state, world))
    right = (_word_costs(sheet, aim_lufs),)
    decided = sheet.loudness.chosen is not None or not list_around(aim_lufs, sheet.mix.integrated_lufs)
    following = Button("Next: delivery", intents.Do("finish"), main=decided)
    return make_step_page(state, world, (tuple(left), right), keys.STEP, dock=(Choices((following,)),))


def act_on_loudness(state: State, intent: Intent, world: World) -> State | None:
    """Try rungs, ask blind, choose one, go on."""
    sheet, heard = get_sheet(state), state.mix.heard
    if isinstance(intent, intents.GoOn):
        if not sheet.loudness.rungs:
            return try_rungs(state, False, world)
        several = len(sheet.loudness.rungs) >= FEWEST_RUNGS
        asks = several and heard is not None and _follow(sheet, world) in KINDS and sheet.loudness.chosen is None
        return _ask(state, world) if asks else finish_step(state, world)
    if not isinstance(intent, intents.Do):
        return None
    if intent.what == "try":
        return try_rungs(state, intent.value == "wide", world)
    if intent.what == "ask":
        return _ask(state, world) if heard is not None else try_again(state, world)
    if intent.what == "rung":
        chosen = replace(sheet.loudness, chosen=int(intent.value))
        return keep(state, replace(sheet, loudness=chosen), world)
    return finish_step(state, world) if intent.what == "finish" else None


def try_rungs(state: State, wide: bool, world: World) -> State:
    """Have the song rendered at some loudnesses, after the moves that are kept."""
    sheet = get_sheet(state)
    aim_lufs, _ = find_aim(sheet, world)
    own_lufs = sheet.mix.integrated_lufs
    asked = list_wide(own_lufs) if wide else list_around(aim_lufs, own_lufs)
    return _want_rungs(state, asked, world) if asked else finish_step(state, world)


def try_again(state: State, world: World) -> State:
    """Have the rungs that stand on the sheet rendered again, to be heard."""
    return _want_rungs(state, tuple(rung.asked_lufs for rung in get_sheet(state).loudness.rungs), world)


def take_rungs(state: State, heard: VersionsHeard, world: World) -> State:
    """Take in the rungs; where they are the ones that stand on the sheet, what was chosen stands."""
    sheet, found = get_sheet(state), heard.loudness
    assert found is not None
    same = [rung.asked_lufs for rung in sheet.loudness.rungs] == [rung.asked_lufs for rung in found.rungs]
    loudness = replace(
        found, chosen=sheet.loudness.chosen, verdict=sheet.loudness.verdict, rounds=sheet.loudness.rounds
    )
    state = keep(state, replace(sheet, loudness=loudness if same else found), world)
    state = put(state, page="step", heard=heard)
    return replace(state, message=heard.refused[0]) if heard.refused else state


def take_rung_round(state: State, held: Round, world: World) -> State:
    """Keep a complete round; a favourite is chosen, which the person may change."""
    sheet = get_sheet(state)
    rounds = (*(each for each in sheet.loudness.rounds if each.round != held.round), held)
    sitting = list_sitting(rounds, world)
    following = find_next(sitting, held.versions)
    verdict: Verdict = (
        "keep" if following == "favourite" else "below_hearing" if following == "not_apart" else "not_settled"
    )
    loudness = replace(sheet.loudness, rounds=rounds, verdict=verdict)
    if following == "favourite":
        loudness = replace(loudness, chosen=judge_preference(held).favourite)
    return put(keep(state, replace(sheet, loudness=loudness), world), page="step")


def _find_nearest(sheet: Sheet, aim_lufs: float) -> int:
    """Find the rung that comes nearest to the aim."""
    rungs = sheet.loudness.rungs
    return min(range(len(rungs)), key=lambda place: abs(rungs[place].reached_lufs - aim_lufs))


def _want_rungs(state: State, asked_lufs: tuple[float, ...], world: World) -> State:
    sheet = get_sheet(state)
    _, ceiling_dbtp = find_aim(sheet, world)
    targets = world.projects.list_targets()
    levels = {name: target.aim_lufs for name, target in targets.items() if name not in PLAYED_AS_IT_IS}
    playback = {name: level for name, level in levels.items() if level is not None}
    return want(state, TryRungs(state.mix.path, sheet.list_kept(), asked_lufs, ceiling_dbtp, playback), world)


def _ask(state: State, world: World) -> State:
    """Ask what comes next of the rungs."""
    sheet, heard = get_sheet(state), state.mix.heard
    assert heard is not None
    kind = KINDS.get(_follow(sheet, world))
    if kind is None:
        return state
    sitting = list_sitting(sheet.loudness.rounds, world)
    pair = choose_pair(sitting, heard.hashes) or (0, 1)
    names = tuple(f"{write_number(rung.reached_lufs)} LUFS" for rung in sheet.loudness.rungs)
    return ask_blind(state, heard, names, kind, pair, world)


def _follow(sheet: Sheet, world: World) -> Next:
    return find_next(list_sitting(sheet.loudness.rounds, world), ("",) * len(sheet.loudness.rungs))


def _word_trying(state: State, aim_lufs: float, ceiling_dbtp: float) -> Card:
    """Word the aim, and offer rungs around it."""
    sheet = get_sheet(state)
    aim = f"Aim: {write_number(aim_lufs)} LUFS, ceiling {write_number(ceiling_dbtp)} dBTP, as the targets have it."
    own_lufs, peak_dbtp = sheet.mix.integrated_lufs, sheet.mix.true_peak_dbtp
    own = f"The mix as it is: {write_number(own_lufs)} LUFS, {write_number(peak_dbtp)} dBTP."
    information = "Loudness is information, no law: a louder master that you chose by ear does not fail."
    parts: list[Part] = [Prose(own), Prose(aim), Prose(information, "muted")]
    if own_lufs >= aim_lufs:
        parts.append(Prose("It is as loud as its aim already. Playback turns it down; a master need not be.", "muted"))
    around, wide = list_around(aim_lufs, own_lufs), list_wide(own_lufs)
    buttons = []
    if around:
        place = "around" if around[-1] == aim_lufs + AROUND_AIM_LU[-1] else "from"
        level = aim_lufs if place == "around" else around[0]
        label = f"{count_words(len(around)).capitalize()} {place} {_write_level(level)} LUFS"
        label += "" if place == "around" else " up"
        buttons.append(Button(label, intents.Do("try", "around"), main=not sheet.loudness.rungs))
    if wide:
        label = f"{_write_level(wide[0])} to {_write_level(wide[-1])} LUFS"
        buttons.append(Button(label, intents.Do("try", "wide")))
    if buttons:
        parts.append(Choices(tuple(buttons)))
    else:
        parts.append(Prose("Nothing louder is offered: hardly any song is released above this."))
    if state.mix.heard is not None:
        parts += [Prose(line, "muted") for line in state.mix.heard.refused]
    return Card("How loud", tuple(parts))


def _write_level(level_lufs: float) -> str:
    """Write a loudness that is aimed at, with its decimal where it has one."""
    return write_number(level_lufs, 0 if level_lufs == round(level_lufs) else 1)


def _word_rounds(state: State, world: World) -> Card:
    """Word what the ear said of the rungs, and what is asked next; the rungs have no names before a verdict."""
    sheet, heard = get_sheet(state), state.mix.heard
    parts: list[Part] = []
    for held in reversed(sheet.loudness.rounds[-3:]):
        parts += word_round(held)
    following = _follow(sheet, world)
    if following in ASKS:
        count = f": {count_asked('all', len(sheet.loudness.rungs))} picks" if following == "all" else ""
        label = f"{ASKS[following]}{count}" if heard is not None else "Make them ready to be heard"
        parts.append(Choices((Button(label, intents.Do("ask"), main=sheet.loudness.chosen is None),)))
    else:
        words = {
            "favourite": "There is a favourite for today.",
            "not_apart": "You did not tell the two that lead apart: take the one that is pushed less.",
            "not_settled": "Two rounds did not settle it: take the one that is pushed less.",
        }
        parts.append(Prose(words[following]))
    return Card("All equally loud, blind", tuple(parts))


def _word_costs(sheet: Sheet, aim_lufs: float) -> Card:
    """Say what each rung cost, once something has been said blind or chosen."""
    loudness = sheet.loudness
    if not loudness.rungs:
        return Card("What each costs", (Prose("Shown after you have heard them.", "muted"),))
    if not loudness.rounds and loudness.chosen is None:
        nearest = _find_nearest(sheet, aim_lufs)
        name = f"{write_number(loudness.rungs[nearest].reached_lufs)} LUFS"
        skip = Choices((Button(f"Choose {name} without listening", intents.Do("rung", str(nearest))),))
        return Card("What each costs", (Prose("Shown after you have heard them, or chosen.", "muted"), skip))
    names = [f"{write_number(rung.reached_lufs)} LUFS" for rung in loudness.rungs]
    table = word_costs(loudness.rungs, sheet.aim.targets)
    choose = tuple(
        Button(name, intents.Do("rung", str(place)), selected=place == loudness.chosen)
        for place, name in enumerate(names)
    )
    order = [held for held in loudness.rounds if held.kind == "all" and held.complete]
    lead = (
        [Prose(f"The order of your picks: {', '.join(names[n] for n in judge_order((order[-1],)).strengths.order)}.")]
        if order
        else []
    )
    return Card("What each costs", (*lead, Table(("", *names), table), Prose("Chosen:", "title"), Choices(choose)))
