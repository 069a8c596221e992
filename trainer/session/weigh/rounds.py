"""Rounds of a weighing: begun, gone on with, answered; and what a sitting asks next."""

from __future__ import annotations

from trainer.decisions.beam import OnBeam
from trainer.decisions.round_verdicts import Next, choose_leaders, choose_pair, find_next
from trainer.decisions.rounds import Kind, Round
from trainer.session.blind_state import Heard
from trainer.session.sittings import begin_round, list_sitting
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


def find_following(beam: OnBeam, world: World) -> Next:
    """Say what is asked next, or what has come of this sitting."""
    return find_next(list_sitting(list_past(beam, world), world), list_versions(beam))


def begin_weighing_round(beam: OnBeam, kind: Kind, world: World) -> Round:
    """Begin a round of these bounces on these stretches, or go on with it."""
    sitting, versions = list_sitting(list_past(beam, world), world), list_versions(beam)
    return begin_round(
        world,
        kind,
        versions,
        list_names(beam),
        choose_pair(sitting, versions) or (0, 1),
        tuple((each.start_s, each.end_s) for each in beam.stretches),
        choose_leaders(sitting) if kind == "leaders" else (),
    )


def keep_sighted(beam: OnBeam, world: World) -> None:
    """Keep that these bounces were heard with their names shown, once a day."""
    if not any(held.kind == "sighted" for held in list_sitting(list_past(beam, world), world)):
        world.notebook.keep_round(begin_weighing_round(beam, "sighted", world))
