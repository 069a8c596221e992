"""The drum kit: sound font kits at several programs, layered with synthesised parts, one stem a drum."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from . import noises
from .score import Note, dice
from .signal import Audio, layered
from .soundfont import play

# General MIDI drum kits (programs of the drum channel).
STANDARD, ROOM_KIT, POWER = 0, 8, 16

Strokes = Mapping[str, Sequence[Note]]


def _kick(strokes: Sequence[Note], seconds: float, seed: int) -> Audio:
    power = play(strokes, program=POWER, seconds=seconds, drums=True)
    round_one = play(strokes, program=STANDARD, seconds=seconds, drums=True)
    layer = noises.kick_layer(strokes, seconds, dice(seed, "kick layer"))
    wide = layer.repeat(2, axis=1)
    return layered((_peak(power), 0.0), (_peak(round_one), -6.0), (_peak(wide), -3.0))


def _snare(strokes: Sequence[Note], seconds: float, seed: int) -> Audio:
    power = play(strokes, program=POWER, seconds=seconds, drums=True)
    room = play(strokes, program=ROOM_KIT, seconds=seconds, drums=True)
    layer = noises.snare_layer(strokes, seconds, dice(seed, "snare layer"))
    return layered((_peak(power), 0.0), (_peak(room), -5.0), (_peak(layer), -1.0))


def _peak(audio: Audio) -> Audio:
    """Bring a layer to a peak of one, so that layers mix in known proportion."""
    highest = float(abs(audio).max())
    return audio / highest if highest > 0.0 else audio


def _metal(name: str, strokes: Sequence[Note], seconds: float, seed: int) -> Audio:
    """A cymbal of the sound font with a synthesised plate above it."""
    ring_s, lowest_hz, blend_db = {
        "crash": (4.5, 700.0, -7.0),
        "open hat": (0.7, 2600.0, -8.0),
        "ride": (1.4, 1600.0, -12.0),
    }[name]
    recorded = play(strokes, program=STANDARD, seconds=seconds, drums=True)
    plate = noises.cymbal(strokes, seconds, dice(seed, f"{name} plate"), ring_s=ring_s, lowest_hz=lowest_hz)
    return layered((_peak(recorded), 0.0), (_peak(plate), blend_db))


def play_kit(strokes: Strokes, seconds: float, seed: int) -> dict[str, Audio]:
    """Return a stem of two channels for every drum of the score."""
    stems: dict[str, Audio] = {}
    for name, part in strokes.items():
        if name == "kick":
            stems[name] = _kick(part, seconds, seed)
        elif name == "snare":
            stems[name] = _snare(part, seconds, seed)
        elif name in ("crash", "open hat", "ride"):
            stems[name] = _metal(name, part, seconds, seed)
        elif name == "shaker":
            stems[name] = noises.shaker(part, seconds, dice(seed, "shaker grains"))
        else:
            stems[name] = play(part, program=STANDARD, seconds=seconds, drums=True)
    return stems
