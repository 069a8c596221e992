"""The second step: from start to end with nothing to touch; then what was heard beside what was measured."""

from __future__ import annotations

from dataclasses import replace

from trainer.decisions.fade_steps import begins_on_bar, is_taken, read_tempo
from trainer.decisions.finding_groups import FindingGroup, arrange_findings, write_place, write_strength
from trainer.decisions.marks import find_edge, merge_marks, tell_decision
from trainer.decisions.mix_jobs import HearSong, MixOpened, SongHeard
from trainer.decisions.reasons import FAULT_NAMES
from trainer.decisions.sheet import HEARD, Decision, Fades, Finding
from trainer.decisions.sheet_words import tell_heard
from trainer.decisions.song_edges import EDGES, Edge
from trainer.errors import BadValue
from trainer.exercise.history import find_mark_delay
from trainer.session import intents
from trainer.session.blind import toggle_sound
from trainer.session.frame import make_frame
from trainer.session.intents import Intent
from trainer.session.mixes import keys
from trainer.session.mixes.end_words import DECIDED as DECIDED_END
from trainer.session.mixes.end_words import describe_end, tell_tempo, write_fade
from trainer.session.mixes.ends import TITLES, act_on_end, open_end, tick_end, view_end
from trainer.session.mixes.kind import (
    act_on_kind,
    count_places,
    get_edges,
    hear_around,
    offer_kind,
    open_kind,
    tick_kind,
    word_kind,
)
from trainer.session.mixes.moving import finish_step, get_sheet, keep, open_step, put, want
from trainer.session.mixes.step_page import make_step_page
from trainer.session.pages import Choices, Entry, Items, Loop, PageView, Part, Prose, Sheet
from trainer.session.sounding import tell_sounding
from trainer.session.state import State
from trainer.session.typing_line import act_on_line
from trainer.session.view import Button, PlanItem, Sounding, Waveform
from trainer.session.world import World
from trainer.units import begin_large, write_time

# What is heard on a page of its own, beside findings, which go by their numbers.
PASS, LAST, SONG = "pass", "last", "song"
KINDS = tuple(kind for kind in HEARD if kind != "anything")
HEARD_WORDS = {
    "click": "a click",
    "distortion": "distortion",
    "harsh_s": "a harsh s",
    "noise": "noise",
    "bad_edit": "a bad edit",
    "too_loud": "too loud",
    "too_quiet": "too quiet",
    "wanted_to_skip": "wanted to skip",
    "anything": "something",
}
DECIDED = {"open": "undecided", "mix": "back to the mix", "keep": "stays", "leave": "the fade takes it"}
OUT_OF_REACH = "A fade reaches the head and the tail of the song, and not this place."
TAKE_BOTH = Button("Take both as proposed", intents.Do("fades", "take"))


def view_listening(state: State, world: World) -> PageView:
    """Word the step: the pass before it has been heard, the findings after it."""
    sheet = get_sheet(state)
    heard = _has_heard(state)
    listen = Button("Listen again" if heard else "Begin the pass", intents.Do("pass"), main=not heard)
    how = (
        "From start to end, with eyes on nothing but the time. Volume and place stay as they are. Mark what you hear; "
        "nothing is measured before you."
    )
    told = (Prose(words),) if (words := tell_heard(sheet)) else ()
    left: list[Part] = [Sheet("The pass", (Prose(how), *told, Choices((listen,))))]
    if heard:
        caption = "Choose one to hear it again." if sheet.findings else ""
        left.append(Sheet("Heard and measured", _offer_findings(state), caption))
    following = Button("Next: balance", intents.Do("finish"), main=heard)
    return make_step_page(
        state,
        world,
        (tuple(left), _word_ends(state)),
        keys.STEP,
        dock=(Choices((following,)),),
        words="the tempo, such as 92, or 92 3 with three beats in a bar" if _has_tail(state) else "",
    )


def act_on_listening(state: State, intent: Intent, world: World) -> State | None:
    """Begin the pass, look at a finding or an end, say the tempo, choose the fades, go on."""
    sheet, opened = get_sheet(state), state.mix.opened
    typed = act_on_line(state, intent, world) if _has_tail(state) else None
    if typed is not None:
        return typed
    if isinstance(intent, intents.GiveAnswer):
        return _take_tempo(state, intent.text, world)
    if isinstance(intent, intents.GoOn):
        if state.typed.strip():
            return _take_tempo(state, state.typed, world)
        return finish_step(state, world) if _has_heard(state) else _begin_pass(state, world)
    if not isinstance(intent, intents.Do):
        return None
    if intent.what == "pass":
        return _begin_pass(state, world)
    if intent.what == "finding":
        around = hear_around(state, sheet.findings[int(intent.value)])
        return want(put(state, chosen=intent.value), around, world)
    if intent.what == "kind":
        return open_kind(state, intent.value, world)
    if intent.what == "fades" and opened is not None:
        return _take_both(state, opened.fades if intent.value == "take" else Fades(), world)
    if intent.what == "edge" and intent.value in EDGES:
        return open_end(state, intent.value, world)
    return finish_step(state, world) if intent.what == "finish" else None


def _take_both(state: State, fades: Fades, world: World) -> State:
    """Take both fades as they are proposed, or none; what was found at the ends follows."""
    sheet, opened = get_sheet(state), state.mix.opened
    findings = sheet.findings
    for edge in EDGES if opened is not None and opened.edges is not None else ():
        assert opened is not None and opened.edges is not None
        there = [each for each in findings if find_edge(each, opened.edges) == edge and each.decision != "mix"]
        decision: Decision = "leave" if is_taken(fades, edge) else "open"
        decided = (replace(each, decision=decision, together=False) if each in there else each for each in findings)
        findings = tuple(decided)
    return keep(state, replace(sheet, fades=fades, findings=findings), world)


def _take_tempo(state: State, text: str, world: World) -> State:
    """Take the tempo that was said; bars are counted from the first sound."""
    edges = state.mix.opened.edges if state.mix.opened is not None else None
    if edges is None:
        return state
    sheet = replace(get_sheet(state), tempo=read_tempo(text, edges.music_from_s))
    return keep(replace(state, typed=""), sheet, world)


def _has_tail(state: State) -> bool:
    """Tell whether the tail of the song is shown, so that a tempo serves a fade."""
    return state.mix.opened is not None and state.mix.opened.edges is not None and _has_heard(state)


def _has_heard(state: State) -> bool:
    """Tell whether a pass has been heard."""
    sheet = get_sheet(state)
    known = sheet.heard_to_s is not None or "listen_through" in sheet.finished
    return known or any(each.heard for each in sheet.findings)


def _begin_pass(state: State, world: World) -> State:
    """Have the whole song made ready to be heard."""
    return want(put(state, chosen=PASS, marks=()), HearSong(state.mix.path), world)


def view_pass(state: State, world: World) -> PageView:
    """Word the pass: the time, and what can be marked; the waveform would draw the eye."""
    song, marks = state.mix.song, state.mix.marks
    assert song is not None
    at_s = song.start_s + state.mix.heard_frame / song.rate_hz
    whole_s = song.start_s + song.sounds.shape[1] / song.rate_hz
    buttons = tuple(Button(HEARD_WORDS[kind].capitalize(), intents.MarkNow(kind)) for kind in KINDS)
    said = f"{len(marks)} marked" if marks else "nothing marked yet"
    frame = make_frame(state, world, "Listen through", get_sheet(state).project, keys.list_pass_keys(KINDS), said)
    parts: tuple[Part, ...] = (
        Prose(f"{write_time(at_s)} of {write_time(whole_s)}", "figure"),
        Choices(buttons),
        Choices((Button("End the pass", intents.GoBack()),)),
    )
    return PageView(frame, "", "", (parts,), words="a time in s and what you heard, such as 12.4 click; then done")


def act_on_pass(state: State, intent: Intent, world: World) -> State | None:
    """Mark what is heard, or end the pass."""
    song = state.mix.song
    assert song is not None
    if isinstance(intent, intents.MarkNow):
        delay_s = find_mark_delay(world.store.list_trials(), world.setup_in_force)
        at_s = max(0.0, song.start_s + state.mix.heard_frame / song.rate_hz - delay_s)
        return put(state, marks=(*state.mix.marks, (at_s, intent.kind or "anything")))
    if isinstance(intent, intents.GiveAnswer):
        return _read_mark(state, intent.text, world)
    if isinstance(intent, (intents.GoBack, intents.GoOn)):
        return end_pass(state, world)
    return None


def tick_pass(state: State, world: World) -> State:
    """Follow the time; a pass that comes round is over."""
    song = state.mix.song
    assert song is not None
    frame = world.player.position().frame
    if frame < state.mix.heard_frame:
        return end_pass(put(state, heard_frame=song.sounds.shape[1]), world)
    # The time is shown in whole seconds: nothing else changes in between.
    if frame // song.rate_hz == state.mix.heard_frame // song.rate_hz:
        return state
    return put(state, heard_frame=frame)


def end_pass(state: State, world: World) -> State:
    """Set the marks beside what was measured."""
    world.player.pause()
    if state.mix.chosen == LAST:
        return put(state, page="step", step="delivery", listened=True)
    sheet, opened = get_sheet(state), state.mix.opened
    measured = opened.findings if opened is not None else tuple(f for f in sheet.findings if f.measured)
    findings = merge_marks(measured, state.mix.marks, sheet.findings)
    sheet = replace(sheet, findings=findings, heard_to_s=_find_heard(state))
    return put(open_step(keep(state, sheet, world), "listen_through", world), marks=())


def _find_heard(state: State) -> float | None:
    """Find how far the song has been heard, s; None where an earlier pass was, and nobody wrote down how far."""
    song, sheet = state.mix.song, get_sheet(state)
    assert song is not None
    if sheet.heard_to_s is None and _has_heard(state):
        return None
    whole_s, at_s = sheet.mix.duration_s, song.start_s + state.mix.heard_frame / song.rate_hz
    # What was marked was heard, also where its time was typed.
    at_s = max(at_s, *(marked_s for marked_s, _ in state.mix.marks), 0.0)
    ended = state.mix.heard_frame >= song.sounds.shape[1]
    return max(sheet.heard_to_s or 0.0, whole_s if ended else min(whole_s, round(at_s, 3)))


def view_finding(state: State, world: World) -> PageView:
    """Word one finding while it is heard, and ask what becomes of it."""
    chosen = state.mix.chosen
    if chosen in EDGES:
        return view_end(state, world)
    many = chosen in FAULT_NAMES
    one = _word_song if chosen == SONG else lambda: _word_finding(state)
    return make_step_page(
        state,
        world,
        word_kind(state) if many else (one(), ()),
        keys.list_named_keys(count_places(state) if many else 1),
        waveform=_draw(state.mix.song),
        sounding=_sound(state, world),
    )


def act_on_finding(state: State, intent: Intent, world: World) -> State | None:
    """Decide on a finding, go to the fade that reaches it, or go back."""
    if state.mix.chosen in EDGES:
        return act_on_end(state, intent, world)
    if isinstance(intent, (intents.GoBack, intents.GoOn)):
        return open_step(state, state.mix.step, world)
    if isinstance(intent, intents.ToggleSound):
        toggle_sound(world)
        return state
    if state.mix.chosen in FAULT_NAMES:
        return act_on_kind(state, intent, world)
    sheet = get_sheet(state)
    if isinstance(intent, intents.Do) and intent.what == "edge" and intent.value in EDGES:
        return open_end(state, intent.value, world)
    if not (isinstance(intent, intents.Do) and intent.what == "decide" and state.mix.chosen.isdigit()):
        return None
    place = int(state.mix.chosen)
    decided = replace(sheet.findings[place], decision=intent.value, together=False)  # type: ignore[arg-type]
    findings = (*sheet.findings[:place], decided, *sheet.findings[place + 1 :])
    return open_step(keep(state, replace(sheet, findings=findings), world), "listen_through", world)


def tick_finding(state: State, world: World) -> State:
    """Take in what was made while what is before it is heard: another fade, or another place of one kind."""
    return tick_kind(state, world) if state.mix.chosen in FAULT_NAMES else tick_end(state, world)


def _word_finding(state: State) -> tuple[Part, ...]:
    """Word a finding; a fade is offered where one can reach it."""
    finding, edges = get_sheet(state).findings[int(state.mix.chosen)], get_edges(state)
    edge = find_edge(finding, edges) if edges is not None else None
    buttons = [
        Button("Fix it in the mix", intents.Do("decide", "mix"), main=finding.decision == "open"),
        Button("It stays", intents.Do("decide", "keep")),
    ]
    parts: list[Part] = [Prose(describe_finding(finding), "figure"), Loop()]
    if edge is None:
        return (*parts, Choices(tuple(buttons)), Prose(OUT_OF_REACH, "muted"))
    return (*parts, Choices((*buttons, Button(f"Fade the {edge}", intents.Do("edge", edge)))))


def _word_song() -> tuple[Part, ...]:
    """Ask for the first impression."""
    return (
        Prose("The song, from its start", "figure"),
        Prose("What strikes you first? Go back to write it down."),
        Loop(),
        Choices((Button("Back", intents.GoBack(), main=True),)),
    )


def describe_finding(finding: Finding) -> str:
    """Say what was found where, by whom and how strong."""
    what = HEARD_WORDS.get(finding.kind) or FAULT_NAMES.get(finding.kind, finding.kind)
    strength = "" if finding.strength is None else f", {write_strength(finding)}"
    who = "heard and measured" if finding.heard and finding.measured else "heard" if finding.heard else "measured"
    return f"{begin_large(what)}{write_place(finding)}, {who}{strength}"


def _offer_findings(state: State) -> tuple[Part, ...]:
    """Offer all findings in the order of the song, many of one kind as one."""
    arranged = arrange_findings(get_sheet(state).findings, get_edges(state))
    if not arranged:
        return (Prose("Nothing was marked and nothing was measured.", "muted"),)
    return (Items(tuple(_offer(number, place, held) for number, (place, held) in enumerate(arranged, 1))),)


def _offer(number: int, place: int, held: Finding | FindingGroup) -> PlanItem:
    if isinstance(held, FindingGroup):
        return offer_kind(number, held, DECIDED[held.decision])
    again = intents.Do("finding", str(place))
    return PlanItem(number, describe_finding(held), "", "", DECIDED[held.decision], again, False)


def _word_ends(state: State) -> tuple[Part, ...]:
    """Word the head and the tail, each with what was found and what was decided."""
    sheet, opened = get_sheet(state), state.mix.opened
    if opened is None or opened.edges is None:
        return (Sheet("Head and tail", (Prose("They are measured when the mix is opened.", "muted"),)),)
    if not _has_heard(state):
        return (Sheet("Head and tail", (Prose("They are shown once the pass has been heard.", "muted"),)),)
    taken = any(is_taken(sheet.fades, edge) for edge in EDGES)
    both = Button("Take no fades", intents.Do("fades", "none")) if taken else TAKE_BOTH
    return (*(_word_end(state, edge, opened) for edge in EDGES), Choices((both,)))


def _word_end(state: State, edge: Edge, opened: MixOpened) -> Sheet:
    """Word one end."""
    sheet, edges = get_sheet(state), opened.edges
    assert edges is not None
    decision = tell_decision(sheet.findings, edge, edges, is_taken(sheet.fades, edge))
    if decision == "leave":
        bars = sheet.tempo.bars if sheet.tempo is not None and edge == "tail" else None
        on_bar = bars is not None and begins_on_bar(sheet.fades, sheet.mix.duration_s, bars)
        said = f"Taken: {write_fade(sheet.fades, edge, on_bar)}."
    elif decision == "open":
        said = f"No fade yet. Proposed: {write_fade(opened.fades, edge)}."
    else:
        said = DECIDED_END[decision]
    parts: list[Part] = [*(Prose(line, "muted") for line in describe_end(edge, edges)), Prose(said)]
    parts.append(Choices((Button(f"Hear the {edge}", intents.Do("edge", edge)),)))
    if edge == "tail":
        hint = "beats a minute, such as 92; 92 3 for three in a bar"
        parts.append(Entry("Tempo, if a fade is to begin on a bar", state.typed, hint, does="take the tempo"))
        if sheet.tempo is not None:
            parts.append(Prose(tell_tempo(sheet.tempo), "muted"))
    return Sheet(TITLES[edge], tuple(parts))


def _read_mark(state: State, text: str, world: World) -> State:
    """Read a typed mark, or the end of them."""
    if text.strip().lower() in ("", "done", "none"):
        return end_pass(state, world)
    time, _, kind = text.strip().partition(" ")
    kind = kind.strip().replace(" ", "_") or "anything"
    try:
        at_s = float(time)
    except ValueError:
        raise BadValue("pass", "mark", text, "a time in s and what you heard, such as 12.4 click") from None
    if kind not in HEARD or not 0 <= at_s <= get_sheet(state).mix.duration_s:
        raise BadValue("pass", "mark", text, f"a time within the song and one of {', '.join(HEARD)}")
    return put(state, marks=(*state.mix.marks, (at_s, kind)))


def _draw(song: SongHeard | None) -> Waveform | None:
    """Outline what is heard."""
    if song is None:
        return None
    end_s = song.start_s + song.sounds.shape[1] / song.rate_hz
    return Waveform(song.outline, write_time(song.start_s), write_time(end_s), "as it is")


def _sound(state: State, world: World) -> Sounding | None:
    song = state.mix.song
    return None if song is None else tell_sounding(1, song.sounds.shape[1], world)
