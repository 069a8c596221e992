"""Blind rounds of a sitting: those of today on this set-up, and one more of them begun or gone on with."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import replace

from trainer.decisions.rounds import Kind, Round
from trainer.session.world import World


def list_sitting(rounds: Iterable[Round], world: World) -> tuple[Round, ...]:
    """List the complete rounds of today on this set-up."""
    today, setup = world.today(), world.setup_in_force
    return tuple(held for held in rounds if held.complete and held.day == today and held.setup == setup)


def begin_round(
    world: World,
    kind: Kind,
    versions: tuple[str, ...],
    names: tuple[str, ...],
    pair: tuple[int, int],
    stretches: tuple[tuple[float, float], ...],
    among: tuple[int, ...] = (),
) -> Round:
    """Begin a round, or go on with the same one where it was left today on this set-up."""
    now = world.clock.now()
    mark = f"{now.isoformat()} {kind} {versions} {world.setup_in_force}"
    fresh = Round(
        round=str(uuid.uuid5(uuid.NAMESPACE_OID, mark)),
        begun_at=now.isoformat(),
        day=world.today(),
        setup=world.setup_in_force,
        kind=kind,
        versions=versions,
        names=names,
        pair=pair,
        stretches=stretches,
        seed=world.choose_seed(),
        among=among,
    )
    left = (held for held in world.notebook.list_rounds(versions) if not held.complete)
    return next((held for held in left if _same(held, fresh)), fresh)


def _same(held: Round, fresh: Round) -> bool:
    """Tell whether a round that was left is what would be begun now."""
    begun = replace(held, round=fresh.round, begun_at=fresh.begun_at, seed=fresh.seed)
    return replace(begun, answers=(), taken_back=()) == fresh
