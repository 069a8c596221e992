"""The fifth step: four loudnesses of the whole song, heard equally loud; what each cost is shown after the choice."""

from __future__ import annotations

from dataclasses import replace

from trainer.decisions.listening_budget import count_sitting, estimate_minutes
from trainer.decisions.mix_jobs import TryRungs, VersionsHeard
from trainer.decisions.round_verdicts import Next, choose_pair, find_next, judge_order, judge_preference
from trainer.decisions.rounds import Kind, Round, count_asked
from trainer.decisions.rungs import FEWEST_RUNGS, add_changes, list_around, list_wide, read_own
from trainer.decisions.sheet import Sheet, Verdict
from trainer.session import intents
from trainer.session.intents import Intent
from trainer.session.mixes import keys
from trainer.session.mixes.candidates import word_round
from trainer.session.mixes.listening_budget import offer_round, proposes_today, tell_lack
from trainer.session.mixes.moving import ask_blind, finish_step, get_sheet, keep, put, put_off, want
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
# Loudness that a move more or less changes at least; sums of measured changes agree within a third of it.
OUTDATED_LU = 0.15
OUTDATED = "Other moves are kept than when these were made: make them again to hear and see what each costs now."
# Nothing turns a song down there, whatever loudness is usual.
PLAYED_AS_IT_IS = ("cd", "club")
KINDS: dict[Next, Kind] = {"all": "all", "prefer": "prefer", "apart": "apart", "again": "prefer"}
ASKS: dict[Next, str] = {
    "all": "Compare every two, blind",
    "prefer": "Up to 12 picks between the two that lead",
    "apart": "Tell these two apart, up to 16 times",
    "again": "Up to 12 picks more",
}
TWO_ALONE = "Up to 12 picks between the two"
FOUND: dict[Next, str] = {
    "favourite": "There is a favourite for today.",
    "not_apart": "You did not tell these two apart: take the one that is pushed less{}.",
    "not_settled": "Two rounds did not settle it: take the one that is pushed less{}.",
}
ONE_ALONE = (
    "There is one loudness, and no other to hear it against here. Take it, or leave the song as loud as it is. "
    "With the delivery it is heard blind against the untouched mix."
)


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
    left: list[Part] = [_word_trying(state, aim_lufs, ceiling_dbtp, world)]
    if len(sheet.loudness.rungs) >= FEWEST_RUNGS:
        left.append(_word_rounds(state, world))
    elif sheet.loudness.rungs:
        left.append(Card("One loudness", (Prose(ONE_ALONE),)))
    right = (_word_costs(sheet, aim_lufs, world),)
    louder = sheet.loudness.rungs or list_around(aim_lufs, _find_own(state)[0])
    decided = sheet.loudness.chosen is not None or not louder
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
    if intent.what == "later":
        return put_off(state, "how loud the song is to be", world)
    if intent.what == "rung":
        chosen = replace(sheet.loudness, chosen=int(intent.value))
        return keep(state, replace(sheet, loudness=chosen), world)
    return finish_step(state, world) if intent.what == "finish" else None


def try_rungs(state: State, wide: bool, world: World) -> State:
    """Have the song rendered at some loudnesses, after the moves that are kept."""
    sheet = get_sheet(state)
    aim_lufs, _ = find_aim(sheet, world)
    own_lufs, _ = _find_own(state)
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
    return put(state, page="step", heard=heard)


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


def _find_own(state: State) -> tuple[float, bool]:
    """Find the loudness of the song with its kept moves, LUFS, and whether it was measured as a whole.

    It was where rungs can be heard: nothing can be kept or left out meanwhile. Before that it is what the moves were
    measured to change; where one of them was not, the mix's own is taken, and a rung below is refused when it is tried.
    """
    sheet, heard = get_sheet(state), state.mix.heard
    rungs = heard.loudness.rungs if heard is not None and heard.loudness is not None else ()
    read = read_own(rungs[0]) if rungs else None
    if read is not None:
        return read, True
    summed = add_changes(sheet.mix.integrated_lufs, sheet.list_kept())
    return (sheet.mix.integrated_lufs, False) if summed is None else (summed, False)


def _is_outdated(state: State) -> bool:
    """Tell whether the rungs on the sheet were made behind other moves than are kept now, as far as loudness tells."""
    sheet = get_sheet(state)
    made = read_own(sheet.loudness.rungs[0]) if sheet.loudness.rungs and state.mix.heard is None else None
    now = add_changes(sheet.mix.integrated_lufs, sheet.list_kept())
    return made is not None and now is not None and abs(made - now) > OUTDATED_LU


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


def _word_trying(state: State, aim_lufs: float, ceiling_dbtp: float, world: World) -> Card:
    """Word the aim, and offer rungs around it."""
    sheet = get_sheet(state)
    own_lufs, _ = _find_own(state)
    aim = f"Aim: {write_number(aim_lufs)} LUFS, ceiling {write_number(ceiling_dbtp)} dBTP, as the targets have it."
    information = "Loudness is information, no law: a louder master that you chose by ear does not fail."
    parts: list[Part] = [*(Prose(line) for line in _tell_own(state)), Prose(aim), Prose(information, "muted")]
    if own_lufs >= aim_lufs:
        parts.append(Prose("It is as loud as its aim already. Playback turns it down; a master need not be.", "muted"))
    around, wide = list_around(aim_lufs, own_lufs), list_wide(own_lufs)
    buttons = []
    if around:
        label = _name_levels(around, aim_lufs)
        buttons.append(Button(label, intents.Do("try", "around"), main=not sheet.loudness.rungs))
    if wide:
        label = f"{_write_level(wide[0])} to {_write_level(wide[-1])} LUFS"
        buttons.append(Button(label, intents.Do("try", "wide")))
    if _is_outdated(state):
        parts.append(Prose(OUTDATED, "muted"))
    if len(around) >= FEWEST_RUNGS and not sheet.loudness.rungs:
        parts += [Prose(line, "muted") for line in tell_lack(sheet, "all", (), world.clock.now(), len(around))]
    if buttons:
        parts.append(Choices(tuple(buttons)))
    else:
        parts.append(Prose("Nothing louder is offered: hardly any song is released above this."))
    if state.mix.heard is not None:
        parts += [Prose(line, "muted") for line in state.mix.heard.refused]
    return Card("How loud", tuple(parts))


def _tell_own(state: State) -> tuple[str, ...]:
    """Say how loud the mix is, and how loud it comes into the limiter where moves are kept."""
    sheet = get_sheet(state)
    kept = sheet.list_kept()
    as_opened = f"The mix as it is: {write_number(sheet.mix.integrated_lufs)} LUFS"
    first = f"{as_opened}, {write_number(sheet.mix.true_peak_dbtp)} dBTP."
    if not kept:
        return (first,)
    moves = "kept move" if len(kept) == 1 else f"{count_words(len(kept))} kept moves"
    own_lufs, measured = _find_own(state)
    if not measured and add_changes(sheet.mix.integrated_lufs, kept) is None:
        return first, f"With the {moves}: measured when a loudness is tried."
    return first, f"With the {moves}: {'' if measured else 'about '}{write_number(own_lufs)} LUFS."


def _name_levels(levels: tuple[float, ...], aim_lufs: float) -> str:
    """Name some loudnesses by their number and their place: around the aim, from the lowest up, or the only one."""
    number = f"Make {count_words(len(levels))}"
    if len(levels) == 1:
        return f"{number}, at {_write_level(levels[0])} LUFS"
    if levels[0] < aim_lufs < levels[-1]:
        return f"{number} around {_write_level(aim_lufs)} LUFS"
    return f"{number} from {_write_level(levels[0])} LUFS up"


def _write_level(level_lufs: float) -> str:
    """Write a loudness that is aimed at, with its decimal where it has one."""
    return write_number(level_lufs, 0 if level_lufs == round(level_lufs) else 1)


def _word_rounds(state: State, world: World) -> Card:
    """Word what the ear said of the rungs, and what is asked next; the rungs have no names before a verdict."""
    sheet = get_sheet(state)
    following = _follow(sheet, world)
    parts: list[Part] = []
    if following in ASKS:
        takes = (_tell_minutes(len(sheet.loudness.rungs)),) if following == "all" else ()
        parts += [Prose(line, "muted") for line in _tell_lack(sheet, following, world) or takes]
        parts.append(Choices(_offer_round(state, following, world)))
    else:
        proposed = _find_proposed(sheet, world)
        rung = "" if proposed is None else f", {write_number(sheet.loudness.rungs[proposed].reached_lufs)} LUFS"
        parts.append(Prose(FOUND[following].format(rung)))
    for held in reversed(sheet.loudness.rounds[-3:]):
        parts += word_round(held)
    return Card("All equally loud, blind", tuple(parts))


def _tell_lack(sheet: Sheet, following: Next, world: World) -> tuple[str, ...]:
    """Say why the round that comes next waits for another day, where it does."""
    sitting = list_sitting(sheet.loudness.rounds, world)
    return tell_lack(sheet, KINDS[following], sitting, world.clock.now(), len(sheet.loudness.rungs))


def _tell_minutes(count: int) -> str:
    """Say how long it takes to choose among some rungs."""
    first = write_number(estimate_minutes(count_asked("all", count)), 0)
    then = write_number(estimate_minutes(count_sitting(2)), 0)
    return f"About {first} minutes; then the two that lead, up to {then} more."


def _offer_round(state: State, following: Next, world: World) -> tuple[Button, ...]:
    """Offer the round that comes next; where it does not fit into today, another day first."""
    sheet = get_sheet(state)
    count = len(sheet.loudness.rungs)
    label = TWO_ALONE if following == "prefer" and count == FEWEST_RUNGS else ASKS[following]
    label += f": {count_asked('all', count)} picks" if following == "all" else ""
    label = label if state.mix.heard is not None else "Make them ready to be heard"
    sitting = list_sitting(sheet.loudness.rounds, world)
    today = proposes_today(sheet, KINDS[following], sitting, world.clock.now(), count)
    return offer_round(label, intents.Do("ask"), today, sheet.loudness.chosen is None)


def _find_proposed(sheet: Sheet, world: World) -> int | None:
    """Find the rung to be chosen: the only one, or that pushed less of two that were not told apart or not settled."""
    rungs = sheet.loudness.rungs
    if sheet.loudness.chosen is not None:
        return None
    if len(rungs) < FEWEST_RUNGS:
        return 0
    if _follow(sheet, world) not in ("not_apart", "not_settled"):
        return None
    pair = choose_pair(list_sitting(sheet.loudness.rounds, world), ("",) * len(rungs))
    return None if pair is None else min(pair, key=lambda place: rungs[place].drive_db)


def _word_costs(sheet: Sheet, aim_lufs: float, world: World) -> Card:
    """Say what each rung cost, once something has been said blind or chosen."""
    loudness = sheet.loudness
    if not loudness.rungs:
        return Card("What each costs", (Prose("Shown after you have heard them.", "muted"),))
    several = len(loudness.rungs) >= FEWEST_RUNGS
    if several and not loudness.rounds and loudness.chosen is None:
        nearest = _find_nearest(sheet, aim_lufs)
        name = f"{write_number(loudness.rungs[nearest].reached_lufs)} LUFS"
        skip = Choices((Button(f"Choose {name} without listening", intents.Do("rung", str(nearest))),))
        return Card("What each costs", (Prose("Shown after you have heard them, or chosen.", "muted"), skip))
    names = [f"{write_number(rung.reached_lufs)} LUFS" for rung in loudness.rungs]
    table = word_costs(loudness.rungs, sheet.aim.targets)
    proposed = _find_proposed(sheet, world)
    choose = tuple(
        Button(name, intents.Do("rung", str(place)), main=place == proposed, selected=place == loudness.chosen)
        for place, name in enumerate(names)
    )
    chosen = "Chosen:" if loudness.chosen is not None else "Choose one:" if several else "Choose it, or go on without:"
    order = [held for held in loudness.rounds if held.kind == "all" and held.complete]
    lead = (
        [Prose(f"The order of your picks: {', '.join(names[n] for n in judge_order((order[-1],)).strengths.order)}.")]
        if order
        else []
    )
    title = "What each costs" if several else "What it costs"
    return Card(title, (*lead, Table(("", *names), table), Prose(chosen, "title"), Choices(choose)))
