"""One move on the beam: the song without it against the song with it, blind; the person decides."""

from __future__ import annotations

from dataclasses import replace

from trainer.decisions.candidate_verdicts import WITH_IT, WITHOUT, judge_candidate
from trainer.decisions.candidate_words import VERDICT_WORDS, describe_state, name_move, title_candidate
from trainer.decisions.compressor_settings import TOOL, WINDOW, keep_one_setting, list_other_settings, name_setting
from trainer.decisions.mix_jobs import HearMoves, TrySettings, VersionsHeard
from trainer.decisions.round_verdicts import Next, confirm, judge_preference
from trainer.decisions.round_words import describe_confirmation, describe_round
from trainer.decisions.rounds import Kind, Round
from trainer.decisions.sheet import Candidate, Sheet, StepName, place_in_chain
from trainer.decisions.sheet_words import aim_for
from trainer.session import intents
from trainer.session.blind import toggle_sound
from trainer.session.intents import Intent
from trainer.session.mixes import keys
from trainer.session.mixes.compressor_figures import draw_window
from trainer.session.mixes.listening_budget import offer_round, proposes_today, tell_lack
from trainer.session.mixes.moving import (
    ask_blind,
    find_following,
    get_sheet,
    keep,
    open_step,
    put,
    tell_put_off,
    want,
    word_heard,
)
from trainer.session.mixes.own_ear import describe_own_ear
from trainer.session.mixes.results import word_results
from trainer.session.mixes.step_page import make_step_page
from trainer.session.pages import Balance, Choices, Loop, PageView, Part, Picture, Prose, Table
from trainer.session.pages import Sheet as Card
from trainer.session.round_parts import draw_round
from trainer.session.sittings import list_sitting
from trainer.session.sounding import tell_sounding
from trainer.session.state import State
from trainer.session.view import Button, PlanItem, Sounding, Waveform
from trainer.session.world import World
from trainer.units import begin_large, begin_small, write_amount, write_time

NAMES = ("without it", "with it")
MOST_A_SITTING = 4
KINDS: dict[Next, Kind] = {"prefer": "prefer", "apart": "apart", "again": "prefer"}
BUTTONS: dict[Next, str] = {
    "prefer": "Up to 12 picks, blind",
    "apart": "Tell them apart, up to 16 times",
    "again": "Up to 12 picks more",
}
ON_LOUD = "{} dB on the loudest hits of the loud stretch; what it takes off over the whole song is measured below."
AIM_FOR = "To set it in a tool of your own, aim for these."
OPENLY = "Just to listen: nothing is asked, and nothing of it counts as evidence."


def choose_candidate(state: State, candidate: Candidate, world: World) -> State:
    """Have the song rendered without and with a move, after all others that are kept."""
    sheet = get_sheet(state).with_candidate(candidate)
    state = keep(state, sheet, world)
    others = _list_others(sheet, candidate)
    both = tuple(sorted((*others, candidate), key=lambda each: place_in_chain(each.move)))
    return want(put(state, chosen=candidate.candidate), HearMoves(state.mix.path, others, both), world)


def take_moves(state: State, heard: VersionsHeard, world: World) -> State:
    """Take in what can be heard, and what the move measures on the whole song."""
    sheet = get_sheet(state)
    candidate = sheet.find_candidate(state.mix.chosen)
    assert candidate is not None
    known = replace(
        candidate, results={**candidate.results, **heard.results}, threshold=describe_own_ear(candidate, world)
    )
    return put(keep(state, sheet.with_candidate(known), world), page="candidate", heard=heard, version=1)


def view_candidate(state: State, world: World) -> PageView:
    """Word the move, what the ear said of it so far, and what can be decided."""
    sheet, heard = get_sheet(state), state.mix.heard
    candidate = sheet.find_candidate(state.mix.chosen)
    assert candidate is not None and heard is not None
    about: list[Part] = [Prose(title_candidate(candidate), "figure"), Prose(candidate.reason)]
    if candidate.move == TOOL and candidate.unit == "dB":
        about.insert(1, Prose(ON_LOUD.format(write_amount(candidate.amount)), "muted"))
    if candidate.threshold:
        about.append(Prose(candidate.threshold, "muted"))
    about += _offer_settings(candidate)
    measured = Table((), word_results({name: v for name, v in candidate.results.items() if name not in WINDOW}))
    left: tuple[Part, ...] = (Card("The move you are weighing", tuple(about)), _listen(state, heard))
    results = Card("Measured on the whole song", (measured,), _word_aim(candidate))
    right: tuple[Part, ...] = (_word_evidence(candidate, sheet, world), results)
    return make_step_page(
        state,
        world,
        (left, right),
        keys.list_named_keys(2),
        dock=(Choices(_offer_decisions(candidate, sheet, world)),),
        waveform=_draw(heard),
        sounding=_sound(state, heard, world),
    )


def act_on_candidate(state: State, intent: Intent, world: World) -> State | None:
    """Ask blind, listen with names, decide, or go back to the step."""
    sheet, heard = get_sheet(state), state.mix.heard
    candidate = sheet.find_candidate(state.mix.chosen)
    assert candidate is not None and heard is not None
    if isinstance(intent, intents.GoBack):
        return open_step(state, candidate.step, world)
    if isinstance(intent, intents.GoOn):
        kind = KINDS.get(_follow(candidate, world))
        return state if kind is None else ask_blind(state, heard, NAMES, kind, (WITHOUT, WITH_IT), world)
    if isinstance(intent, (intents.Listen, intents.ListenOther, intents.ToggleSound)):
        return _hear(state, intent, heard, world)
    if not isinstance(intent, intents.Do):
        return None
    if intent.what == "apart":
        return ask_blind(state, heard, NAMES, "apart", (WITHOUT, WITH_IT), world)
    if intent.what == "later":
        left = open_step(state, candidate.step, world)
        return replace(left, message=tell_put_off(begin_small(title_candidate(candidate))))
    if intent.what == "settings" and candidate.move == TOOL:
        return _open_settings(state, candidate, world)
    if intent.what in ("keep", "leave", "mix"):
        decided = replace(candidate, decision=intent.what)  # type: ignore[arg-type]
        sheet = keep_one_setting(sheet, decided) if intent.what == "keep" else sheet
        return open_step(keep(state, sheet.with_candidate(decided), world), candidate.step, world)
    return None


def take_candidate_round(state: State, held: Round, world: World) -> State:
    """Keep a complete round with its candidate, and judge it anew."""
    sheet = get_sheet(state)
    candidate = sheet.find_candidate(state.mix.chosen)
    assert candidate is not None
    rounds = (*(each for each in candidate.rounds if each.round != held.round), held)
    measured = "untried" if candidate.kind == "taste" else candidate.verdict
    judged = replace(candidate, rounds=rounds, verdict=judge_candidate(rounds, candidate.kind, measured))
    return put(keep(state, sheet.with_candidate(judged), world), page="candidate")


def offer_candidates(sheet: Sheet, step: StepName, proposed: tuple[Candidate, ...]) -> tuple[PlanItem, ...]:
    """Offer the candidates of a step."""
    return tuple(
        PlanItem(
            number,
            title_candidate(each),
            each.reason,
            "Weigh it" if each.decision == "open" else "Look again",
            describe_state(each),
            intents.Do("candidate", each.candidate),
            each.decision == "open" and bool(each.rounds),
        )
        for number, each in enumerate(_list_offered(sheet, step, proposed), 1)
    )


def offer_weighing(state: State, step: StepName, proposed: tuple[Candidate, ...], world: World) -> tuple[Button, ...]:
    """Offer the first move of a step that nothing was heard of, while the day and the sitting have room for it."""
    sheet = get_sheet(state)
    room = count_weighed_today(sheet, world) < MOST_A_SITTING
    if not (room and proposes_today(sheet, "prefer", (), world.clock.now())):
        return ()
    waiting = [each for each in _list_offered(sheet, step, proposed) if each.decision == "open" and not each.rounds]
    return tuple(
        Button(f"Weigh the {begin_small(name_move(each))}", intents.Do("candidate", each.candidate), main=True)
        for each in waiting[:1]
    )


def _list_offered(sheet: Sheet, step: StepName, proposed: tuple[Candidate, ...]) -> list[Candidate]:
    """List the candidates of a step: those on the sheet, then those that were proposed and are not there yet."""
    own = [each for each in sheet.candidates if each.step == step]
    known = {each.candidate for each in own}
    return own + [each for each in proposed if each.candidate not in known]


def find_offered(sheet: Sheet, name: str, proposed: tuple[Candidate, ...]) -> Candidate | None:
    """Find a candidate by its name: as it stands on the sheet, else as it was proposed."""
    return sheet.find_candidate(name) or next((each for each in proposed if each.candidate == name), None)


def count_weighed_today(sheet: Sheet, world: World) -> int:
    """Count the moves that were weighed in this sitting."""
    return sum(bool(list_sitting(each.rounds, world)) for each in sheet.candidates)


def _list_others(sheet: Sheet, candidate: Candidate) -> tuple[Candidate, ...]:
    """List the kept moves beside a candidate: of one tool no two settings are heard at once."""
    same = {each.candidate for each in (candidate, *list_other_settings(candidate, sheet.candidates))}
    return tuple(each for each in sheet.list_kept() if each.candidate not in same)


def _open_settings(state: State, candidate: Candidate, world: World) -> State:
    """Have a compressor made ready at many settings."""
    kept = _list_others(get_sheet(state), candidate)
    return want(state, TrySettings(state.mix.path, candidate, kept), world)


def _word_aim(candidate: Candidate) -> str:
    """Say what the figures are for: to set the same in a tool of one's own."""
    aim = aim_for(candidate)
    return f"To set it in a tool of your own: {begin_small(aim)}" if aim else AIM_FOR


def _offer_settings(candidate: Candidate) -> tuple[Part, ...]:
    """Show the releases that fit, and offer to set another one; only a bus compressor has any."""
    if candidate.move != TOOL:
        return ()
    parts: list[Part] = []
    if all(name in candidate.results for name in WINDOW):
        low, high = (candidate.results[name] for name in WINDOW)
        parts += [
            Prose("Releases that fit on the loud stretch, and this one:", "muted"),
            Picture(draw_window(candidate.settings["release_ms"], low, high)),
        ]
    return (*parts, Choices((Button("Set the release", intents.Do("settings")),)))


def _follow(candidate: Candidate, world: World) -> Next:
    """Say what is asked next; of hygiene only whether it can be told."""
    if candidate.kind == "hygiene":
        told = [held for held in list_sitting(candidate.rounds, world) if held.kind == "apart"]
        return "not_apart" if told else "apart"
    return find_following(candidate.rounds, ("", ""), world)


def _offer_decisions(candidate: Candidate, sheet: Sheet, world: World) -> tuple[Button, ...]:
    """Offer what can be decided; the way of the evidence is the accent, and leaving it out is the usual one.

    Where the day's listening is used up, the accent leaves the decision open for another day.
    """
    following = _follow(candidate, world)
    asks, kind = BUTTONS.get(following), KINDS.get(following)
    wins = candidate.verdict in ("keep", "no_harm")
    sitting = list_sitting(candidate.rounds, world)
    today = kind is None or proposes_today(sheet, kind, sitting, world.clock.now())
    buttons = list(offer_round(asks, intents.GoOn(), today)) if asks else []
    buttons.append(Button("Leave it out", intents.Do("leave"), main=not asks and not wins))
    buttons.append(Button(_word_keeping(candidate), intents.Do("keep"), main=not asks and wins))
    buttons.append(Button("Fix it in the mix", intents.Do("mix")))
    return tuple(buttons)


def _word_keeping(candidate: Candidate) -> str:
    """Word keeping a move, by what speaks for it."""
    if candidate.verdict in ("keep", "no_harm"):
        return "Keep the move"
    return "Keep it unheard" if candidate.verdict == "untried" else "Keep it all the same"


def _word_evidence(candidate: Candidate, sheet: Sheet, world: World) -> Card:
    """Word what the rounds told, the last ones first."""
    parts: list[Part] = []
    for held in reversed(candidate.rounds[-3:]):
        parts += word_round(held)
    complete = [held for held in candidate.rounds if held.kind == "prefer" and held.complete]
    favourite = judge_preference(complete[-1]).favourite if complete else None
    if favourite is not None:
        found = confirm(candidate.rounds, complete[-1].versions[favourite])
        lines = describe_confirmation(found, "The song with it" if favourite == WITH_IT else "The song without it")
        parts += [Prose(line, "muted") for line in lines]
    unheard = candidate.kind == "hygiene" and not parts
    verdict = f"{VERDICT_WORDS[candidate.verdict]}{', as measured; not yet heard' if unheard else ''}"
    parts.append(Prose(f"{begin_large(verdict)}.", "title"))
    if unheard:
        parts.append(Prose("It is meant to be inaudible: if you cannot tell it apart, keep it.", "muted"))
    parts += [Prose(line, "muted") for line in _word_other_settings(candidate, sheet)]
    if candidate.verdict == "below_hearing":
        parts.append(Prose("It may still be part of a sum that wins as a whole.", "muted"))
    kind = KINDS.get(_follow(candidate, world))
    if kind is not None:
        lack = tell_lack(sheet, kind, list_sitting(candidate.rounds, world), world.clock.now())
        parts += [Prose(line, "muted") for line in lack]
    if count_weighed_today(sheet, world) >= MOST_A_SITTING:
        parts.append(Prose("Four moves are enough for one sitting; the others can wait for tomorrow.", "muted"))
    return Card("What is known of it" if unheard else "What your ear said", tuple(parts))


def _word_other_settings(candidate: Candidate, sheet: Sheet) -> tuple[str, ...]:
    """Say what was heard of other settings of the same tool, and that it does not count here."""
    heard = [each for each in list_other_settings(candidate, sheet.candidates) if each.rounds]
    said = [f"{name_setting(each.settings)}: {describe_state(each)}" for each in heard]
    return (f"Heard with other settings, and no evidence for this one: {'; '.join(said)}.",) if said else ()


def word_round(held: Round) -> tuple[Part, ...]:
    """Show a complete round, and its first line."""
    return draw_round(held), Prose(describe_round(held)[0], "muted")


def _listen(state: State, heard: VersionsHeard) -> Card:
    """Let both be heard with their names."""
    versions = tuple(
        Button(f"{number}, {name}", intents.Listen(number), selected=state.mix.version == number)
        for number, name in enumerate(NAMES, 1)
    )
    return Card("With the names shown", (Balance(versions, word_heard(heard, "").balance), Loop()), OPENLY)


def _hear(state: State, intent: Intent, heard: VersionsHeard, world: World) -> State | None:
    """Switch between both, named."""
    if isinstance(intent, intents.ToggleSound) and world.player.position().playing:
        toggle_sound(world)
        return state
    version = state.mix.version
    if isinstance(intent, intents.ListenOther):
        version = (version - 1 + intent.step) % 2 + 1
    elif isinstance(intent, intents.Listen):
        version = intent.version
    if not 1 <= version <= heard.sounds[0].shape[0]:
        return None
    if not world.player.position().playing:
        world.player.load(heard.sounds[0], heard.rate_hz)
    world.player.select(version - 1)
    world.player.play()
    return put(state, version=version)


def _draw(heard: VersionsHeard) -> Waveform:
    """Outline the first place of the untouched song."""
    start, end = heard.stretches[0]
    return Waveform(heard.outlines[0], write_time(start), write_time(end), heard.captions[0])


def _sound(state: State, heard: VersionsHeard, world: World) -> Sounding:
    return tell_sounding(state.mix.version, heard.sounds[0].shape[1], world)
