"""What is heard now, and how it goes on."""

from __future__ import annotations

from dataclasses import replace

from trainer.session.view import Sounding
from trainer.session.world import World


def tell_sounding(version: int, frames: int, world: World) -> Sounding:
    """Tell which version is heard, and where in a loop of so many frames."""
    return follow_sounding(Sounding(version, 0.0, False, frames), world)


def follow_sounding(sounding: Sounding, world: World) -> Sounding:
    """Tell where the same version is heard now."""
    head = world.player.position()
    frames = max(sounding.frames, 1)
    return replace(sounding, fraction=(head.frame % frames) / frames, playing=head.playing)
