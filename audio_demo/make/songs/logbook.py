"""Nobody Signed the Logbook: a reference beside Quarter Past the Breakwater, score and mix.

Another band of the Harbour Street Record Club, in D major, 120 beats a minute: a chorus and its last chord, finished.
Straight eighths, a man's voice, an electric piano and a plucked figure, where the other song has a woman's voice,
an organ and strummed guitars.
"""

from __future__ import annotations

from collections.abc import Mapping

from ..amp import CRUNCH_LEFT, CRUNCH_RIGHT, EDGE
from ..desk import Return, Strip, mix
from ..drumming import CLOSED_HAT, CRASH, KICK, SNARE, TAMBOURINE, Feel, over_bars, strike
from ..dynamics import Compressor, tame
from ..filters import bell, high_cut, high_shelf, low_cut, low_shelf
from ..fretting import BarOfChord, Hand, Shape, bass_line, shapes_by_name, strum
from ..kit import play_kit
from ..mastering import mastered
from ..players import (
    CLEAN_GUITAR,
    ELECTRIC_PIANO,
    JAZZ_GUITAR,
    bass_guitar,
    electric_guitar,
    with_pick,
)
from ..reverb import PLATE, ROOM
from ..score import Note, Section, Timeline, phrase
from ..signal import Audio
from ..singing import Take, sing
from ..song import Song
from ..soundfont import play
from ..speech import Speaker

_SEED, _SECONDS = 20_271, 16.4
_TIME = Timeline(tempo_bpm=120.0, first_downbeat_s=0.2)
_BARS = 7
_CHORDS = "D A Bm G D A G D"

# Sounding keys, lowest string first.
_POWER: dict[str, Shape] = {"D": (38, 45, 50), "A": (45, 52, 57), "Bm": (47, 54, 59), "G": (43, 50, 55)}
_HIGH: dict[str, Shape] = {"D": (57, 62, 66), "A": (57, 61, 64), "Bm": (59, 62, 66), "G": (55, 59, 67)}
_FIGURE: dict[str, Shape] = {
    "D": (62, 69, 74, 78),
    "A": (61, 69, 73, 76),
    "Bm": (62, 66, 71, 78),
    "G": (62, 67, 71, 79),
}
_KEYS: dict[str, Shape] = {"D": (54, 57, 62, 66), "A": (52, 57, 61, 64), "Bm": (54, 59, 62, 66), "G": (55, 59, 62, 67)}
_ROOT = {"D": 38, "A": 33, "Bm": 35, "G": 31}

_STEADY = Feel(spread_ms=2.5, late_ms=0.0, velocity_spread=4.0)
_BEHIND = Feel(spread_ms=3.0, late_ms=5.0, velocity_spread=3.0)
_LOOSE = Feel(spread_ms=4.0, late_ms=0.0, velocity_spread=7.0)

_LINES = (
    phrase(
        0,
        "Nobody signed the logbook tonight",
        "1 F#4 .5, 1.5 F#4 .5, 2 E4 .5, 2.5 A4 .5, 3 F#4 .5, 3.5 E4 .5, 4 E4 .5, 4.5 D4 .5, 5 F#4 2",
    ),
    phrase(
        2,
        "the harbour lights were drinking it dry",
        "-.5 D4 .5, 0 F#4 .5, .5 E4 .5, 1 D4 1, 2 E4 .5, 2.5 F#4 1, 3.5 E4 .5, 4 D4 .5, 4.5 B3 2",
    ),
    phrase(
        4,
        "Nobody wrote the number of boats",
        "0 F#4 .5, .5 F#4 .5, 1 E4 .5, 1.5 A4 1, 2.5 F#4 .5, 3 E4 1, 4 A4 .5, 4.5 G4 .5, 5 A4 2",
    ),
    phrase(6, "left out in the rain", "0 B4 .5, .5 A4 1, 1.5 G4 .5, 2 F#4 .5, 4 D4 1.5"),
)
_SINGER = Speaker("en-us+m3", 115, 30)


def _chords(table: dict[str, Shape], *patterns: str) -> list[BarOfChord]:
    """The chorus with patterns repeated in turn, and the last chord."""
    shapes = shapes_by_name(table, _CHORDS)
    bars = [BarOfChord(n, shape, patterns[n % len(patterns)]) for n, shape in enumerate(shapes[:_BARS])]
    return [*bars, BarOfChord(_BARS, shapes[_BARS], "D" + "." * 9)]


def _strum(table: dict[str, Shape], hand: Hand, part: str, *patterns: str) -> list[Note]:
    return strum(_chords(table, *patterns), _TIME, hand, _SEED, part)


def _drums() -> dict[str, list[Note]]:
    """Kick on every beat, snare on two and four, straight eighths on the hat."""
    patterns = {
        "kick": (KICK, _STEADY, [*over_bars(0, _BARS, "X...x...X...x.o.", "X...x...X.o.x..."), (_BARS, "X")]),
        "snare": (SNARE, _BEHIND, [*over_bars(0, _BARS - 1, "....X.......X..."), (_BARS - 1, "....X... x.x.xxXX")]),
        "closed hat": (CLOSED_HAT, _LOOSE, over_bars(0, _BARS, "x.o.x.o.x.o.x.o.")),
        "crash": (CRASH, _STEADY, [(0, "X"), (4, "x"), (_BARS, "X")]),
        "tambourine": (TAMBOURINE, _LOOSE, over_bars(0, _BARS, "..-...-...-...-.")),
    }
    return {name: strike(bars, key, _TIME, feel, _SEED, name) for name, (key, feel, bars) in patterns.items()}


def _bass() -> Audio:
    """Eighths on the root, with its octave on the way to the next bar."""
    names = _CHORDS.split()
    bars = [(n, (_ROOT[names[n]], _ROOT[names[n]] + 12), "0.0.0.0.0.0.0.1.") for n in range(_BARS)]
    return bass_guitar(bass_line([*bars, (_BARS, (26,), "0" + "." * 9)], _TIME, _SEED, "bass"), _SECONDS)


def perform() -> dict[str, Audio]:
    """Return every dry part."""
    low = _strum(_POWER, Hand(12.0, 4.0, 104, 5.0), "crunch left", "D.D.D.D.D.D.D.D.", "D.D.D.D.D.D.DmD.")
    high = _strum(_HIGH, Hand(16.0, 5.0, 98, 6.0), "crunch right", "D.....D.........", "D.....D...D.....")
    figure = _strum(_FIGURE, Hand(8.0, 4.0, 92, 6.0), "figure", "0.1.2.3.2.1.2.1.", "0.2.3.2.1.2.1.2.")
    keys = _strum(_KEYS, Hand(8.0, 5.0, 84, 5.0), "keys", "D.....D...D.....")
    sibilants = Compressor(9.0, 3.0, 0.5, 40.0)
    double = Take(_SINGER, _SEED + 2, cents=6.0, late_ms=12.0, formant=1.03, vibrato_cents=14.0)
    return play_kit(_drums(), _SECONDS, _SEED) | {
        "bass": _bass(),
        "crunch left": electric_guitar(low, CLEAN_GUITAR, CRUNCH_LEFT, _SECONDS, -2.0),
        "crunch right": electric_guitar(high, JAZZ_GUITAR, CRUNCH_RIGHT, _SECONDS, 3.0),
        "figure": with_pick(electric_guitar(figure, CLEAN_GUITAR, EDGE, _SECONDS, 1.0), figure, _SEED, "figure", -13.0),
        "keys": play(keys, program=ELECTRIC_PIANO, seconds=_SECONDS),
        "voice": tame(sing(_LINES, _TIME, Take(_SINGER, _SEED + 1), _SECONDS), 4500.0, sibilants),
        "double": tame(sing(_LINES, _TIME, double, _SECONDS), 4500.0, sibilants),
    }


_PUNCH = Compressor(9.0, 3.5, 14.0, 110.0)
_CALM = Compressor(14.0, 3.0, 8.0, 120.0)
_FIRM = Compressor(18.0, 4.0, 4.0, 160.0)
_STRIPS = (
    Strip("kick", -23.0, width=0.3, before=(low_cut(35.0), bell(320.0, -4.0, 1.2), bell(70.0, 2.0, 0.8)),
          compressors=(_PUNCH,), after=(bell(3000.0, 2.0, 1.0), high_shelf(6000.0, -4.0)), sends_db={"room": -16.0}),
    Strip("snare", -20.5, width=0.8, before=(low_cut(110.0), bell(420.0, -3.0, 1.4)), compressors=(_PUNCH,),
          after=(bell(210.0, 2.0, 0.9), bell(2300.0, 3.5, 0.8), high_shelf(6500.0, -3.0)),
          sends_db={"room": -8.0, "plate": -13.0}),
    Strip("closed hat", -36.5, pan=0.3, width=0.6, before=(low_cut(400.0), high_shelf(11000.0, -2.0)),
          sends_db={"room": -14.0}),
    Strip("crash", -37.0, width=1.2, before=(low_cut(350.0), high_shelf(9000.0, -1.0)), sends_db={"room": -12.0}),
    Strip("tambourine", -42.0, pan=-0.4, width=0.6, before=(low_cut(900.0),), sends_db={"room": -12.0}),
    Strip("bass", -19.5, before=(low_cut(30.0), low_shelf(95.0, 6.0), bell(260.0, -2.0, 1.0)), compressors=(_FIRM,),
          after=(bell(900.0, 2.5, 0.9), high_cut(6500.0)), ducked_by="kick", duck_db=3.0),
    Strip("crunch left", -24.0, pan=-0.85, before=(low_cut(85.0), bell(180.0, 2.0, 0.9), bell(2300.0, -5.0, 0.7)),
          after=(high_shelf(7000.0, 2.0),), sends_db={"room": -13.0}),
    Strip("crunch right", -24.5, pan=0.85, before=(low_cut(110.0), low_shelf(450.0, 4.0), bell(1600.0, -5.0, 0.6)),
          after=(high_shelf(7000.0, 2.0),), sends_db={"room": -13.0}),
    Strip("figure", -29.5, pan=0.45, before=(low_cut(180.0), bell(2700.0, -9.0, 0.6)), compressors=(_CALM,),
          sends_db={"plate": -9.0}),
    Strip("keys", -29.0, pan=-0.3, width=0.9, before=(low_cut(140.0), high_shelf(5000.0, 3.0)),
          sends_db={"plate": -14.0}),
    Strip("voice", -20.5, before=(low_cut(100.0), bell(350.0, -3.5, 1.0), bell(3200.0, -5.0, 0.6)),
          compressors=(Compressor(10.0, 3.0, 2.0, 60.0), _CALM), after=(high_shelf(9000.0, 1.5),),
          sends_db={"plate": -13.0, "room": -20.0}),
    Strip("double", -29.5, pan=0.15, before=(low_cut(180.0), bell(3200.0, -5.0, 0.6)), compressors=(_FIRM,),
          sends_db={"plate": -10.0}),
)  # fmt: skip
_RETURNS = {
    "room": Return(ROOM, (low_cut(110.0), high_shelf(4000.0, -4.0))),
    "plate": Return(PLATE, (low_cut(250.0), bell(500.0, -1.0, 0.8), high_shelf(5000.0, -3.0))),
}
# Set against the long-term balance of rock records, a little fuller below and cleaner above than most mixes.
_BUS = (low_shelf(110.0, 2.0), bell(2800.0, -2.0, 0.5), high_shelf(7000.0, -1.0))


def combine(stems: Mapping[str, Audio]) -> dict[str, Audio]:
    """Return every strip and space as it goes to the sum."""
    return mix(stems, _STRIPS, _RETURNS, _BUS, (_TIME.at(0), _TIME.at(_BARS)), _SEED)


SONG = Song(
    slug="quarter_past_the_breakwater.reference",
    title="Nobody Signed the Logbook",
    style="dense guitar-driven indie rock with a sung voice",
    key="D major",
    timeline=_TIME,
    sections=(Section("chorus", 0, _BARS), Section("ending", _BARS, 1)),
    seed=_SEED,
    perform=perform,
    combine=combine,
    sources={
        "drums": "FluidR3 GM sound font (MIT), kits 0, 8 and 16, layered with own synthesis",
        "bass, guitars, electric piano": "FluidR3 GM sound font (MIT), own amplifier simulation",
        "voice": "espeak-ng, voice en-us+m3, set to pitch and time by own code; words and tune are own",
        "song": "words, tune, chords, arrangement, mix and master made for this project",
    },
    windows={
        "integrated_lufs": (-13.0, -10.0),
        "true_peak_dbtp": (-2.0, -1.0),
        "loudness_range_lu": (0.0, 4.0),
        "peak_to_loudness_db": (9.0, 12.0),
    },
    finish=lambda total: mastered(total, -11.0),
    bits=13,
)
