"""Three Crates and a Tide Table: the players and the mix, with a limiter left on and driven too hot."""

from __future__ import annotations

from collections.abc import Mapping

from .. import drum_machine
from ..desk import Return, Strip, echo, mix, summed
from ..dynamics import Compressor
from ..filters import bell, equalise, high_cut, high_shelf, low_cut
from ..hot_bus import Limiter, led_out, limit
from ..kit import play_kit
from ..noises import widened
from ..players import ELECTRIC_PIANO
from ..reverb import HALL, PLATE, ROOM
from ..sampler import sampled
from ..saturation import Drive, driven
from ..score import dice
from ..signal import Audio, layered, mono
from ..singing import Take, sing
from ..song import Song
from ..soundfont import play
from ..speech import Speaker
from ..synthesiser import sub_bass
from . import crates_score as score

_SECONDS, _SEED, _TIME = score.SECONDS, score.SEED, score.TIMELINE
_VIBRAPHONE = 11
_SPEAKER = Speaker("en-us+m3", 150, 30)
_CALLER = Speaker("en-gb-x-rp+m7", 150, 35)


def _voices() -> dict[str, Audio]:
    """The speaking voice, two more for line ends and choruses, and the calls from both sides."""
    again = (*score.line_endings(), *score.REFRAINS)
    main = Take(_SPEAKER, _SEED + 1, vibrato_cents=0.0)
    left = Take(_SPEAKER, _SEED + 2, cents=-25.0, late_ms=15.0, formant=0.96, vibrato_cents=0.0)
    right = Take(_SPEAKER, _SEED + 3, cents=30.0, late_ms=-8.0, formant=1.04, vibrato_cents=0.0)
    high = Take(_CALLER, _SEED + 4, formant=1.08, vibrato_cents=0.0, transpose=5)
    low = Take(_CALLER, _SEED + 5, formant=0.92, vibrato_cents=0.0, transpose=-2)
    return {
        "voice": sing(score.LINES, _TIME, main, _SECONDS),
        "double left": sing(again, _TIME, left, _SECONDS),
        "double right": sing(again, _TIME, right, _SECONDS),
        "calls left": sing(score.calls("left"), _TIME, high, _SECONDS),
        "calls right": sing(score.calls("right"), _TIME, low, _SECONDS),
    }


def _drums() -> dict[str, Audio]:
    """The kit of the sound font as an early sampler gives it back, with a brighter hat beside it."""
    strokes = score.drums()
    stems = {name: sampled(stem) for name, stem in play_kit(strokes, _SECONDS, _SEED).items()}
    snap = drum_machine.snap(strokes["snare"], _SECONDS, _SEED)
    stems["snare"] = layered((_even(stems["snare"]), 0.0), (_even(snap), -3.0))
    bright = drum_machine.hat(strokes["closed hat"], _SECONDS, _SEED, "bright hat", ring_ms=22.0)
    stems["closed hat"] = layered((_even(stems["closed hat"]), 0.0), (_even(bright), -5.0))
    return stems


def _even(audio: Audio) -> Audio:
    """Bring a layer to a peak of one, so that layers mix in known proportion."""
    return audio / float(abs(audio).max())


def perform() -> dict[str, Audio]:
    """Return every dry part of the song."""
    stems = _drums() | _voices()
    stems["sub"] = sub_bass(score.sub(), _SECONDS, fall=1.1, decay_s=0.75)
    piano = mono(play(score.keys(), program=ELECTRIC_PIANO, seconds=_SECONDS))
    stems["keys"] = widened(sampled(piano), dice(_SEED, "keys"), amount=0.75)
    chimes = mono(play(score.chimes(), program=_VIBRAPHONE, seconds=_SECONDS))
    stems["chimes"] = widened(chimes, dice(_SEED, "chimes"), amount=0.6)
    calls = stems["calls left"] + stems["calls right"]
    stems["call echo"] = echo(calls, 468.75, 4, -5.0, (low_cut(400.0), high_cut(4000.0)))
    return stems


_VERSE_S = (_TIME.at(score.VERSE), _TIME.at(score.CHORUS))
_CHORUS_S = (_TIME.at(score.CHORUS), _TIME.at(score.VERSE_TWO))
_CALM = Compressor(12.0, 3.0, 6.0, 100.0)
_FIRM = Compressor(18.0, 4.0, 3.0, 110.0)
_FAST = Compressor(10.0, 3.0, 2.0, 60.0)


def _rides(verse_db: float) -> tuple[tuple[float, float], ...]:
    """Levels of the sections against the first chorus, changed just before the bar."""
    points: list[tuple[float, float]] = [(0.0, verse_db)]
    for bar, before_db, after_db in (
        (score.CHORUS, verse_db, 0.0),
        (score.VERSE_TWO, 0.0, verse_db),
        (score.CHORUS_TWO, verse_db, 0.3),
    ):
        points += [(_TIME.at(bar) - 0.1, before_db), (_TIME.at(bar) - 0.01, after_db)]
    return tuple(points)


_DRUMS = (
    Strip(
        "kick",
        -20.0,
        width=0.2,
        before=(low_cut(30.0), bell(350.0, -4.0, 1.0), bell(65.0, 3.0, 0.9)),
        compressors=(Compressor(9.0, 3.0, 12.0, 90.0),),
        rides=_rides(-2.5),
    ),
    Strip(
        "snare",
        -19.0,
        width=0.6,
        before=(low_cut(110.0), bell(210.0, 3.0, 0.9), bell(2600.0, 3.0, 0.8)),
        compressors=(Compressor(9.0, 3.5, 14.0, 80.0),),
        sends_db={"room": -10.0},
        rides=_rides(-2.5),
    ),
    Strip("closed hat", -39.0, pan=0.25, width=0.6, before=(low_cut(500.0),), sends_db={"room": -16.0}),
    Strip("open hat", -39.0, pan=0.3, width=0.7, before=(low_cut(600.0),), sends_db={"room": -16.0}),
    Strip(
        "stick",
        -34.0,
        pan=-0.35,
        width=0.5,
        level_window_s=_VERSE_S,
        before=(low_cut(300.0),),
        sends_db={"room": -10.0},
    ),
    Strip("shaker", -44.0, pan=-0.5, width=0.8, before=(low_cut(2500.0),)),
    Strip("crash", -36.0, width=1.1, before=(low_cut(400.0),), sends_db={"hall": -14.0}),
)
_LOW = (Strip("sub", -18.5, before=(low_cut(26.0),), ducked_by="kick", duck_db=3.0, rides=_rides(-2.0)),)
_MUSIC = (
    Strip(
        "keys",
        -24.0,
        width=1.2,
        before=(low_cut(150.0), bell(350.0, -2.0), high_shelf(5000.0, 3.0)),
        compressors=(_CALM,),
        sends_db={"plate": -14.0, "hall": -9.0},
        ducked_by="kick",
        duck_db=2.5,
        rides=_rides(-2.5),
    ),
    Strip(
        "chimes",
        -27.0,
        pan=-0.15,
        width=1.2,
        before=(low_cut(250.0), high_shelf(6000.0, 3.0)),
        compressors=(_CALM,),
        sends_db={"hall": -10.0},
    ),
)
_VOICES = (
    Strip(
        "voice",
        -17.0,
        before=(low_cut(95.0), bell(300.0, -2.5, 0.9), bell(3300.0, -3.0, 0.7), bell(6800.0, -4.0, 0.8)),
        compressors=(_FAST, _CALM),
        after=(high_shelf(9000.0, 2.0),),
        sends_db={"room": -18.0, "plate": -22.0},
        rides=_rides(-2.5),
    ),
    Strip(
        "double left",
        -29.0,
        pan=-0.6,
        before=(low_cut(180.0), high_shelf(5000.0, -7.0)),
        compressors=(_FIRM,),
        sends_db={"plate": -16.0},
    ),
    Strip(
        "double right",
        -29.0,
        pan=0.6,
        before=(low_cut(180.0), high_shelf(5000.0, -7.0)),
        compressors=(_FIRM,),
        sends_db={"plate": -16.0},
    ),
    Strip(
        "calls left",
        -27.0,
        pan=-0.8,
        before=(low_cut(350.0), bell(1800.0, 3.0, 0.8)),
        compressors=(_FIRM,),
        sends_db={"plate": -10.0},
    ),
    Strip(
        "calls right",
        -27.0,
        pan=0.8,
        before=(low_cut(350.0), bell(1800.0, 3.0, 0.8)),
        compressors=(_FIRM,),
        sends_db={"plate": -10.0},
    ),
    Strip("call echo", -36.0, sends_db={"hall": -12.0}),
)
STRIPS = (*_DRUMS, *_LOW, *_MUSIC, *_VOICES)

RETURNS = {
    "room": Return(ROOM, (low_cut(180.0), high_shelf(5000.0, -3.0))),
    "plate": Return(PLATE, (low_cut(300.0), high_shelf(6000.0, -2.0))),
    "hall": Return(HALL, (low_cut(300.0), high_cut(9000.0))),
}

_BUSES = (
    (_DRUMS, Drive(4.0, 3.0)),
    (_LOW, Drive(4.0, 2.0)),
    (_MUSIC, Drive(1.0, 2.0, 0.1)),
    (_VOICES, Drive(2.0, 2.0)),
)
_LIMITER = Limiter(gain_db=5.8, hold_dbfs=1.2, cut_dbfs=-0.1, ahead_ms=1.0, release_ms=70.0)


def combine(stems: Mapping[str, Audio]) -> dict[str, Audio]:
    """Return the whole mix as one track: driven buses and spaces, through the limiter."""
    tracks = mix(stems, STRIPS, RETURNS, (), _CHORUS_S, _SEED)
    total = summed({name: tracks[name] for name in RETURNS})
    for strips, drive in _BUSES:
        total = total + driven(summed({strip.name: tracks[strip.name] for strip in strips}), drive)
    return {"mix": limit(equalise(total, (low_cut(24.0), high_shelf(5000.0, -2.5))), _LIMITER)}


SONG = Song(
    slug="three_crates_and_a_tide_table",
    title="Three Crates and a Tide Table",
    style="hip-hop with a spoken voice, a limiter left on and driven too hot",
    key="E minor",
    timeline=_TIME,
    sections=score.SECTIONS,
    seed=_SEED,
    perform=perform,
    combine=combine,
    sources={
        "drums": "FluidR3 GM sound font (MIT), with own synthesis, at half the rate and 12 bits",
        "electric piano, vibraphone": "FluidR3 GM sound font (MIT)",
        "sub bass": "own synthesis",
        "voice": "espeak-ng, voices en-us+m3 and en-gb-x-rp+m7, set to pitch and time by own code; words are own",
        "rooms": "own impulse responses, made of noise",
        "song": "words, tune, chords, arrangement and mix made for this project",
    },
    traits=("backbeat", "voice"),
    windows={
        "integrated_lufs": (-9.5, -8.5),
        "true_peak_dbtp": (0.0, 1.5),
        "sample_peak_dbfs": (-0.15, -0.05),
        "loudness_range_lu": (1.0, 7.0),
        "peak_to_loudness_db": (8.0, 11.0),
        "chorus_over_verse_lu": (0.3, 4.0),
    },
    finish=led_out,
)
