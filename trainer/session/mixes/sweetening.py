"""The fourth step: what may be added, each from a modest start, and none as the usual result."""

from __future__ import annotations

from trainer.decisions.mix_jobs import Propose
from trainer.session import intents
from trainer.session.intents import Intent
from trainer.session.mixes import keys
from trainer.session.mixes.candidates import (
    MOST_A_SITTING,
    choose_candidate,
    count_weighed_today,
    find_offered,
    offer_candidates,
    offer_weighing,
)
from trainer.session.mixes.moving import finish_step, get_sheet, want
from trainer.session.mixes.step_page import make_step_page
from trainer.session.pages import Choices, Items, PageView, Part, Prose, Sheet
from trainer.session.state import State
from trainer.session.view import Button
from trainer.session.words import count_words
from trainer.session.world import World


def view_sweetening(state: State, world: World) -> PageView:
    """Word the candidates on the left, those that make no sense here on the right."""
    sheet, sweet = get_sheet(state), state.mix.sweet
    items = offer_candidates(sheet, "sweetening", sweet.candidates if sweet else ())
    weighed = count_weighed_today(sheet, world)
    left: list[Part] = [Prose("Saturation, overtones, compression, width: each is heard against the song without it.")]
    if items:
        left.append(Items(items))
    if sweet is None:
        left.append(Choices((Button("Find candidates on this song", intents.Do("find"), main=not items),)))
    if weighed:
        number, most = count_words(weighed).capitalize(), count_words(MOST_A_SITTING)
        left.append(Prose(f"{number} of at most {most} moves weighed in this sitting.", "muted"))
    right: list[Part] = [Prose("Leaving it out is the usual result, and no loss.")]
    if sweet is not None:
        right += [Prose(line, "muted") for line in sweet.refused]
    columns: tuple[tuple[Part, ...], ...] = (
        (Sheet("Candidates", tuple(left)),),
        (Sheet("Not proposed here, and why", tuple(right)),),
    )
    weigh = offer_weighing(state, "sweetening", sweet.candidates if sweet else (), world)
    following = Button("Next: loudness", intents.Do("finish"), main=sweet is not None and not weigh)
    return make_step_page(state, world, columns, keys.STEP, dock=(Choices((*weigh, following)),))


def act_on_sweetening(state: State, intent: Intent, world: World) -> State | None:
    """Find candidates, weigh one, go on."""
    sheet, sweet = get_sheet(state), state.mix.sweet
    if isinstance(intent, intents.GoOn):
        return finish_step(state, world) if sweet is not None else _find(state, world)
    if not isinstance(intent, intents.Do):
        return None
    if intent.what == "find":
        return _find(state, world)
    if intent.what == "candidate":
        found = find_offered(sheet, intent.value, sweet.candidates if sweet else ())
        return None if found is None else choose_candidate(state, found, world)
    return finish_step(state, world) if intent.what == "finish" else None


def _find(state: State, world: World) -> State:
    """Have candidates found on this song."""
    return want(state, Propose(state.mix.path, "sweetening", get_sheet(state).list_kept()), world)
