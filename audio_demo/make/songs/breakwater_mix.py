"""Quarter Past the Breakwater: the players and the mix."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..amp import CRUNCH_LEFT, CRUNCH_RIGHT, EDGE
from ..desk import Return, Strip, echo, isolated, mix
from ..dynamics import Compressor
from ..filters import bell, high_cut, high_shelf, low_cut, low_shelf
from ..kit import play_kit
from ..noises import swell, widened
from ..players import (
    CLEAN_GUITAR,
    ELECTRIC_PIANO,
    JAZZ_GUITAR,
    ROCK_ORGAN,
    bass_guitar,
    electric_guitar,
    steel_guitar,
    with_pick,
)
from ..reverb import HALL, PLATE, ROOM
from ..score import dice
from ..signal import Audio, mono
from ..singing import Take, sing
from ..song import Song, Stem
from ..soundfont import play
from ..speech import Speaker
from . import breakwater_score as score
from .logbook import SONG as LOGBOOK

_SECONDS, _SEED, _TIME = score.SECONDS, score.SEED, score.TIMELINE
_SINGER = Speaker("en-us+f3", 115, 5)
_LINES = (*score.LEAD, *score.refrain(score.CHORUS), *score.refrain(score.CHORUS_TWO))


def _electric_guitars() -> dict[str, Audio]:
    """Two crunch guitars, a picked one and the lead, each through its own amplifier."""
    low, high = score.crunch("low", "crunch left"), score.crunch("high", "crunch right")
    picked = score.picked()
    clean = electric_guitar(picked, CLEAN_GUITAR, EDGE, _SECONDS, 2.0)
    return {
        "crunch left": electric_guitar(low, CLEAN_GUITAR, CRUNCH_LEFT, _SECONDS, -3.0),
        "crunch right": electric_guitar(high, JAZZ_GUITAR, CRUNCH_RIGHT, _SECONDS, 4.0),
        "picked": with_pick(clean, picked, _SEED, "picked", -13.0),
        "hook": electric_guitar(score.hook(), CLEAN_GUITAR, CRUNCH_RIGHT, _SECONDS, 0.0),
    }


def _acoustic(part: str, cents: float) -> Audio:
    notes = score.acoustic(part)
    return with_pick(steel_guitar(notes, _SECONDS, cents), notes, _SEED, part, -9.0)


def _voices() -> dict[str, Audio]:
    """The lead voice, its two doubles in the choruses and a harmony in the second."""
    refrains = (*score.refrain(score.CHORUS), *score.refrain(score.CHORUS_TWO), score.LEAD[-1])
    second = score.harmony((*score.refrain(score.CHORUS_TWO), score.LEAD[-1]), -2)
    left = Take(_SINGER, _SEED + 2, cents=-6.0, late_ms=13.0, formant=0.97, vibrato_cents=16.0)
    right = Take(_SINGER, _SEED + 3, cents=7.0, late_ms=-9.0, formant=1.035, vibrato_cents=18.0)
    below = Take(_SINGER, _SEED + 4, cents=2.0, late_ms=8.0, formant=0.94, breath=1.5)
    return {
        "voice": sing(_LINES, _TIME, Take(_SINGER, _SEED + 1), _SECONDS),
        "double left": sing(refrains, _TIME, left, _SECONDS),
        "double right": sing(refrains, _TIME, right, _SECONDS),
        "harmony": sing(second, _TIME, below, _SECONDS),
    }


def perform() -> dict[str, Audio]:
    """Return every dry part of the song."""
    stems = play_kit(score.drums(), _SECONDS, _SEED)
    stems |= _electric_guitars() | _voices()
    stems["bass"] = bass_guitar(score.bass(), _SECONDS)
    stems["acoustic left"] = _acoustic("acoustic left", -2.0)
    stems["acoustic right"] = _acoustic("acoustic right", 3.0)
    organ = mono(play(score.organ(), program=ROCK_ORGAN, seconds=_SECONDS))
    stems["organ"] = widened(organ, dice(_SEED, "organ"), amount=0.7)
    stems["keys"] = play(score.keys(), program=ELECTRIC_PIANO, seconds=_SECONDS)
    stems["voice echo"] = echo(stems["voice"], 375.0, 4, -5.0, (low_cut(350.0), high_cut(4500.0)))
    stems["picked echo"] = echo(stems["picked"], 375.0, 4, -4.0, (low_cut(250.0), high_cut(5000.0)))
    stems["swell"] = swell(_TIME.at(10, 2), _TIME.at(12), _SECONDS, dice(_SEED, "swell")) + swell(
        _TIME.at(22, 2), _TIME.at(24), _SECONDS, dice(_SEED, "second swell")
    )
    return stems


_VERSE_S = (_TIME.at(score.VERSE), _TIME.at(score.CHORUS))
_CHORUS_S = (_TIME.at(score.CHORUS), _TIME.at(score.VERSE_TWO))
_CHORUS_TWO_S = (_TIME.at(score.CHORUS_TWO), _TIME.at(score.ENDING))
_CALM = Compressor(14.0, 3.0, 8.0, 120.0)
_FIRM = Compressor(18.0, 4.0, 4.0, 160.0)
_PUNCH = Compressor(9.0, 3.5, 14.0, 110.0)


def _rides(verse_db: float, chorus_two_db: float = 0.4) -> tuple[tuple[float, float], ...]:
    """Levels of the sections against the first chorus, changed just before the bar; the last chord fades."""
    points: list[tuple[float, float]] = [(0.0, verse_db)]
    for bar, before_db, after_db in (
        (score.CHORUS, verse_db, 0.0),
        (score.VERSE_TWO, 0.0, verse_db),
        (score.CHORUS_TWO, verse_db, chorus_two_db),
    ):
        points += [(_TIME.at(bar) - 0.13, before_db), (_TIME.at(bar) - 0.01, after_db)]
    points += [(_TIME.at(score.ENDING, 2), chorus_two_db), (_TIME.at(score.ENDING + 1, 3), chorus_two_db - 10.0)]
    return tuple(points)


STRIPS = (
    Strip(
        "kick",
        -23.0,
        width=0.3,
        before=(low_cut(32.0), bell(320.0, -4.0, 1.2), bell(80.0, 2.5, 0.8)),
        compressors=(_PUNCH,),
        after=(bell(2800.0, 2.0, 1.0), high_shelf(5000.0, -6.0)),
        sends_db={"room": -16.0},
        rides=_rides(-2.5),
    ),
    Strip(
        "snare",
        -20.6,
        width=0.8,
        before=(low_cut(95.0), bell(420.0, -3.0, 1.4)),
        compressors=(Compressor(4.5, 2.5, 18.0, 90.0),),
        after=(bell(190.0, 2.5, 0.9), bell(2300.0, 4.5, 0.8), high_shelf(6500.0, -5.0)),
        sends_db={"room": -7.0, "plate": -15.0},
        rides=_rides(-2.5),
    ),
    Strip(
        "toms",
        -25.0,
        width=1.0,
        level_window_s=(_TIME.at(19, 2), _TIME.at(20)),
        before=(low_cut(60.0), bell(380.0, -4.0, 1.2), bell(4000.0, 3.0)),
        sends_db={"room": -6.0},
    ),
    Strip(
        "closed hat",
        -39.0,
        pan=0.25,
        width=0.6,
        level_window_s=_VERSE_S,
        before=(low_cut(380.0), high_shelf(11000.0, -4.0)),
        sends_db={"room": -14.0},
    ),
    Strip(
        "open hat",
        -39.0,
        pan=0.28,
        width=0.7,
        before=(low_cut(500.0), bell(3500.0, -2.0), high_shelf(11000.0, -4.0)),
        sends_db={"room": -14.0},
    ),
    Strip(
        "ride",
        -43.0,
        pan=-0.3,
        width=0.7,
        before=(low_cut(400.0),),
        sends_db={"room": -14.0},
    ),
    Strip(
        "crash",
        -36.5,
        width=1.2,
        before=(low_cut(320.0), bell(3200.0, -2.0), high_shelf(9000.0, -2.0)),
        sends_db={"room": -12.0},
    ),
    Strip(
        "tambourine",
        -45.0,
        pan=-0.4,
        width=0.6,
        before=(low_cut(900.0), high_shelf(12000.0, -2.0)),
        sends_db={"room": -12.0},
    ),
    Strip(
        "shaker",
        -45.5,
        pan=0.5,
        width=0.8,
        before=(low_cut(2500.0), high_shelf(12000.0, -3.0)),
        sends_db={"room": -16.0},
    ),
    Strip(
        "bass",
        -19.5,
        before=(low_cut(32.0), low_shelf(95.0, 6.0), bell(260.0, -2.0, 1.0)),
        compressors=(_FIRM,),
        after=(bell(900.0, 2.5, 0.9), high_cut(6500.0)),
        ducked_by="kick",
        duck_db=2.5,
        rides=_rides(-2.0),
    ),
    Strip(
        "crunch left",
        -23.0,
        pan=-0.92,
        before=(low_cut(85.0), bell(180.0, 3.0, 0.9), bell(2300.0, -5.0, 0.7)),
        after=(high_shelf(7000.0, 2.0),),
        sends_db={"room": -13.0, "plate": -24.0},
        rides=_rides(-4.5),
    ),
    Strip(
        "crunch right",
        -23.0,
        pan=0.92,
        before=(low_cut(95.0), low_shelf(450.0, 5.0), bell(1600.0, -5.0, 0.6)),
        after=(high_shelf(7000.0, 2.0),),
        sends_db={"room": -13.0, "plate": -24.0},
        rides=_rides(-3.5),
    ),
    Strip(
        "picked",
        -29.0,
        pan=-0.5,
        level_window_s=_VERSE_S,
        before=(low_cut(120.0), low_shelf(500.0, 5.0), bell(2700.0, -12.0, 0.6)),
        compressors=(_CALM,),
        sends_db={"plate": -11.0},
        rides=((0.0, 3.5), (_TIME.at(3, 3), 3.5), (_TIME.at(4), 0.0)),
    ),
    Strip("picked echo", -38.0, level_window_s=_VERSE_S, sends_db={"plate": -10.0}),
    Strip(
        "acoustic left",
        -33.0,
        pan=-0.7,
        before=(low_cut(130.0), bell(2500.0, 2.0), high_shelf(7000.0, 2.0)),
        compressors=(_CALM,),
        rides=_rides(0.0),
        sends_db={"room": -12.0},
    ),
    Strip(
        "acoustic right",
        -33.0,
        pan=0.7,
        before=(low_cut(130.0), bell(2500.0, 2.0), high_shelf(7000.0, 2.0)),
        compressors=(_CALM,),
        rides=_rides(0.0),
        sends_db={"room": -12.0},
    ),
    Strip(
        "organ",
        -34.0,
        width=1.0,
        before=(low_cut(160.0), bell(500.0, -2.0), high_shelf(4000.0, 2.0)),
        sends_db={"hall": -14.0},
        rides=_rides(0.0),
        ducked_by="snare",
        duck_db=1.0,
    ),
    Strip(
        "keys",
        -30.5,
        pan=0.35,
        width=0.9,
        level_window_s=_VERSE_S,
        before=(low_cut(140.0), bell(300.0, -2.0), high_shelf(5000.0, 3.0)),
        sends_db={"plate": -14.0},
    ),
    Strip(
        "hook",
        -32.0,
        pan=0.3,
        before=(low_cut(200.0), bell(2600.0, -5.0, 0.7)),
        sends_db={"hall": -8.0, "plate": -16.0},
        rides=((0.0, 3.0), (_TIME.at(4), 3.0), (_TIME.at(5), 0.0)),
    ),
    Strip(
        "voice",
        -21.0,
        before=(low_cut(110.0), bell(430.0, -4.5, 1.1), bell(3300.0, -7.0, 0.6)),
        compressors=(Compressor(10.0, 3.0, 2.0, 60.0), _CALM),
        after=(high_shelf(9000.0, 1.0),),
        sends_db={"plate": -13.0, "room": -20.0},
        rides=_rides(-2.0),
    ),
    Strip(
        "double left",
        -32.0,
        pan=-0.45,
        before=(low_cut(180.0), bell(3200.0, -5.0, 0.6)),
        compressors=(_FIRM,),
        sends_db={"plate": -12.0},
    ),
    Strip(
        "double right",
        -32.0,
        pan=0.45,
        before=(low_cut(180.0), bell(3200.0, -5.0, 0.6)),
        compressors=(_FIRM,),
        sends_db={"plate": -12.0},
    ),
    Strip(
        "harmony",
        -30.0,
        pan=-0.2,
        level_window_s=_CHORUS_TWO_S,
        before=(low_cut(180.0), bell(3200.0, -5.0, 0.6)),
        compressors=(_FIRM,),
        sends_db={"plate": -10.0},
    ),
    Strip("voice echo", -38.0, sends_db={"hall": -12.0}),
    Strip(
        "swell",
        -36.0,
        level_window_s=(_TIME.at(11), _TIME.at(12)),
        before=(high_cut(14000.0),),
        sends_db={"hall": -10.0},
    ),
)

RETURNS = {
    "room": Return(ROOM, (low_cut(110.0), high_shelf(4000.0, -5.0))),
    "plate": Return(PLATE, (low_cut(250.0), bell(500.0, -1.0, 0.8), high_shelf(5000.0, -3.0))),
    "hall": Return(HALL, (low_cut(280.0), high_cut(8000.0))),
}

# A lean of the whole mix towards its lower end, set against the long-term balance of rock mixes.
BUS = (low_shelf(120.0, 2.0), bell(2800.0, -2.0, 0.5), high_shelf(6000.0, -1.5))
_SUNG = ("voice", "double left", "double right", "harmony", "voice echo")


def combine(stems: Mapping[str, Audio]) -> dict[str, Audio]:
    """Return every strip and space as it goes to the sum."""
    return mix(stems, STRIPS, RETURNS, BUS, _CHORUS_S, _SEED)


def isolate(tracks: Mapping[str, Audio], names: Sequence[str]) -> Audio:
    """Return what some strips add to the sum."""
    return isolated(tracks, names, STRIPS, RETURNS, _SEED)


SONG = Song(
    slug="quarter_past_the_breakwater",
    title="Quarter Past the Breakwater",
    style="dense guitar-driven indie rock with a sung voice",
    key="A major",
    timeline=_TIME,
    sections=score.SECTIONS,
    seed=_SEED,
    perform=perform,
    combine=combine,
    sources={
        "drums": "FluidR3 GM sound font (MIT), kits 0, 8 and 16, layered with own synthesis",
        "bass, guitars, organ, electric piano": "FluidR3 GM sound font (MIT), own amplifier simulation",
        "voice": "espeak-ng, voice en-us+f3, set to pitch and time by own code; words and tune are own",
        "shaker, cymbal layers, swells, pick noise": "own synthesis from noise and sines",
        "rooms": "own impulse responses, made of noise",
        "song": "words, tune, chords, arrangement and mix made for this project",
    },
    traits=("backbeat", "voice"),
    stems=(Stem("bass", ("bass",), bits=13), Stem("voice", _SUNG, bits=12)),
    isolate=isolate,
    reference=LOGBOOK,
)
