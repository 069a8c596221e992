"""Rounds of a weighing: begun, gone on with, answered; and what a sitting asks next."""

from __future__ import annotations

import uuid
from dataclasses import replace

from trainer.decisions.beam import OnBeam
from trainer.decisions.round_verdicts import Next, choose_leaders, choose_pair, find_next
from trainer.decisions.rounds import Kind, Round
from trainer.session.blind_state import Heard
from trainer.session.weigh.words import describe_balance
from trainer.session.world import World
from trainer.units import write_time

KINDS: dict[Next, Kind] = {"all": "all", "leaders": "leaders", "prefer": "prefer", "apart": "apart", "again": "prefer"}


def list_versions(beam: OnBeam) -> tuple[str, ...]:
    """List the hashes in the order that rounds use: the same for the same files, however they were named."""
    return tuple(sorted(beam.hashes))


def list_names(beam: OnBeam) -> tuple[str, ...]:
    """List the names in the same order."""
    return tuple(beam.names[beam.hashes.index(version)] for version in list_versions(beam))


def hear_beam(beam: OnBeam, held: Round) -> Heard:
    """Give what a round is heard on: the sounds in the order of the round's versions."""
    order = [beam.hashes.index(version) for version in held.versions]
    return Heard(
        "Weigh",
        tuple(sounds[order] for sounds in beam.sounds),
        beam.rate_hz,
        beam.outlines,
        tuple((write_time(each.start_s), write_time(each.end_s)) for each in beam.stretches),
        ("the first stretch", "the quiet stretch")[: len(beam.stretches)],
        describe_balance(beam),
    )


def list_past(beam: OnBeam, world: World) -> tuple[Round, ...]:
    """List all complete rounds of these bounces."""
    return tuple(held for held in world.notebook.list_rounds(beam.hashes) if held.complete)


def list_sitting(beam: OnBeam, world: World) -> tuple[Round, ...]:
    """List the complete rounds of today on this set-up."""
    today, setup = world.today(), world.setup_in_force
    return tuple(held for held in list_past(beam, world) if held.day == today and held.setup == setup)


def find_following(beam: OnBeam, world: World) -> Next:
    """Say what is asked next, or what has come of this sitting."""
    return find_next(list_sitting(beam, world), list_versions(beam))


def begin_round(beam: OnBeam, kind: Kind, world: World) -> Round:
    """Begin a round, or go on with one that was left today on this set-up and these stretches."""
    versions = list_versions(beam)
    stretches = tuple((each.start_s, each.end_s) for each in beam.stretches)
    pair = choose_pair(list_sitting(beam, world), versions) or (0, 1)
    now = world.clock.now()
    fresh = Round(
        round=str(uuid.uuid5(uuid.NAMESPACE_OID, f"{now.isoformat()} {kind} {versions} {world.setup_in_force}")),
        begun_at=now.isoformat(),
        day=world.today(),
        setup=world.setup_in_force,
        kind=kind,
        versions=versions,
        names=list_names(beam),
        pair=pair,
        stretches=stretches,
        seed=world.choose_seed(),
        among=choose_leaders(list_sitting(beam, world)) if kind == "leaders" else (),
    )
    return next((held for held in _list_left(beam, world) if _same(held, fresh)), fresh)


def keep_sighted(beam: OnBeam, world: World) -> None:
    """Keep that these bounces were heard with their names shown, once a day."""
    fresh = begin_round(beam, "sighted", world)
    sighted = [held for held in list_sitting(beam, world) if held.kind == "sighted"]
    if not sighted:
        world.notebook.keep_round(fresh)


def _list_left(beam: OnBeam, world: World) -> tuple[Round, ...]:
    """List rounds that were begun and not answered to their end."""
    return tuple(held for held in world.notebook.list_rounds(beam.hashes) if not held.complete)


def _same(held: Round, fresh: Round) -> bool:
    """Tell whether a round that was left is what would be begun now."""
    return replace(held, round=fresh.round, begun_at=fresh.begun_at, seed=fresh.seed, answers=()) == fresh
