"""The Ferryman Keeps the Change: a reference beside Nine Lanterns on the Slipway, score and mix.

Another slow one of the Harbour Street Record Club, in D major, 75 beats a minute: a chorus and its last chord,
finished. One picked guitar, a piano and a woman's voice, where the other song has two guitars, strings and a man's.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..air import with_air
from ..brushwork import play_soft_kit
from ..desk import Return, Strip, mix
from ..drumming import CLOSED_HAT, KICK, RIDE, SIDE_STICK, SNARE, Feel, over_bars, strike
from ..dynamics import Compressor, tame
from ..filters import bell, high_cut, high_shelf, low_cut, low_shelf
from ..fingering import fingertips, knocks
from ..fretting import BarOfChord, Hand, Shape, bass_line, let_ring, strum
from ..mastering import mastered
from ..noises import widened
from ..players import FINGERED_BASS, STRINGS, beside, steel_guitar, with_pick
from ..reverb import HALL, PLATE, ROOM
from ..score import Note, Section, Timeline, dice, phrase
from ..signal import Audio, mono
from ..singing import Take, sing
from ..song import Song
from ..soundfont import play
from ..speech import Speaker

_SEED, _SECONDS = 20_272, 16.6
_TIME = Timeline(tempo_bpm=75.0, first_downbeat_s=0.2)
_BARS = 4
_PIANO = 0

# Two chords a bar, and the last one.
_NAMES = ["D", "A/C#", "Bm", "G", "D", "F#m", "G", "A", "D"]
# Sounding keys, lowest string first.
_PICKED: dict[str, Shape] = {
    "D": (50, 57, 62, 66, 69),
    "A/C#": (49, 57, 61, 64, 69),
    "Bm": (47, 54, 59, 62, 66),
    "G": (43, 55, 59, 62, 67),
    "F#m": (42, 54, 57, 61, 66),
    "A": (45, 52, 57, 61, 64),
}
_CHORDS: dict[str, Shape] = {
    "D": (50, 62, 66, 69, 74),
    "A/C#": (49, 61, 64, 69, 73),
    "Bm": (47, 62, 66, 71, 74),
    "G": (43, 62, 67, 71, 74),
    "F#m": (42, 61, 66, 69, 73),
    "A": (45, 61, 64, 69, 76),
}
_ROOT = {"D": 38, "A/C#": 37, "Bm": 35, "G": 31, "F#m": 30, "A": 33}

_SOFT = Feel(spread_ms=5.0, late_ms=3.0, velocity_spread=5.0)
_LOOSE = Feel(spread_ms=6.0, late_ms=0.0, velocity_spread=8.0, swing_ms=9.0)

_LINES = (
    phrase(
        0,
        "The ferryman keeps the change in a jar",
        ".5 D4 .5, 1 F#4 .5, 1.5 F#4 .5, 2 E4 .5, 2.5 F#4 1, 3.5 E4 .5, 4 D4 1, 5 B3 .5, 5.5 D4 .5, 6 D4 1.6",
    ),
    phrase(
        2,
        "and silver is slow to sink in the dark",
        ".5 D4 .5, 1 A4 .5, 1.5 A4 .5, 2 G4 .5, 2.5 A4 1, 3.5 F#4 .5, 4 G4 1, 5 F#4 .5, 5.5 E4 .5, 6 E4 1.6",
    ),
    phrase(4, "row me home", "0 F#4 .5, .5 E4 .5, 1 D4 1.2"),
)
_SINGER = Speaker("en-us+f3", 105, 10)
_SIBILANTS = Compressor(9.0, 3.0, 0.5, 40.0)


def _halves(table: dict[str, Shape], *patterns: str) -> list[BarOfChord]:
    """The chorus in half bars with patterns repeated in turn, and the last chord."""
    shapes = [table[name] for name in _NAMES]
    bars = [BarOfChord(n / 2, shape, patterns[n % len(patterns)]) for n, shape in enumerate(shapes[:-1])]
    return [*bars, BarOfChord(_BARS, shapes[-1], "d" + "." * 11)]


def _guitar() -> Audio:
    """A picked steel-string guitar near a microphone."""
    changes_s = [_TIME.at(n / 2) for n in range(1, len(_NAMES))]
    bars = _halves(_PICKED, "0.2.314.", "0.3.4.2.")
    notes = let_ring(strum(bars, _TIME, Hand(34.0, 5.0, 92, 8.0), _SEED, "guitar"), [*changes_s, _SECONDS])
    dry = with_pick(steel_guitar(notes, _SECONDS, -2.0), notes, _SEED, "guitar", -11.0)
    wood = beside(dry, knocks(notes, len(dry), dice(_SEED, "wood")), -17.0)
    air = (low_cut(7000.0), high_cut(17000.0))
    airy = with_air(wood, dice(_SEED, "guitar air"), above_hz=2500.0, bands=air, level_db=-17.0)
    return widened(airy, dice(_SEED, "body"), amount=0.4)


def _piano() -> Audio:
    """Soft chords with the bass note first."""
    notes = strum(_halves(_CHORDS, "0.D...U.", "0.D..1.."), _TIME, Hand(10.0, 6.0, 74, 6.0), _SEED, "piano")
    return play(notes, program=_PIANO, seconds=_SECONDS)


def _bass() -> Audio:
    doubled = Timeline(_TIME.tempo_bpm, _TIME.first_downbeat_s, 2)
    bars = [(n, (_ROOT[name],), ("0.....0.", "0.....,.")[n % 2]) for n, name in enumerate(_NAMES[:-1])]
    notes: Sequence[Note] = bass_line([*bars, (2 * _BARS, (26,), "0.......")], doubled, _SEED, "bass")
    dry = mono(play(notes, program=FINGERED_BASS, seconds=_SECONDS))
    return beside(dry, fingertips(notes, len(dry), dice(_SEED, "bass fingers")), -20.0)


def _drums() -> dict[str, list[Note]]:
    """A soft kit with a stick on two and four, the brush around it."""
    patterns = {
        "kick": (KICK, _SOFT, [*over_bars(0, _BARS, "x.....x.x.....o.", "x.....o.x...x..."), (_BARS, "x")]),
        "brush": (SNARE, _SOFT, over_bars(0, _BARS, "..g.x..g.gg.x.g.")),
        "cross stick": (SIDE_STICK, _SOFT, over_bars(0, _BARS, "....o.......o...")),
        "shaker": (CLOSED_HAT, _LOOSE, over_bars(0, _BARS, "ogo-ogo-ogo-ogo-")),
        "ride": (RIDE, _SOFT, [*over_bars(0, _BARS, "o...-.g.o...-.g."), (_BARS, "o")]),
    }
    return {name: strike(bars, key, _TIME, feel, _SEED, name) for name, (key, feel, bars) in patterns.items()}


def perform() -> dict[str, Audio]:
    """Return every dry part."""
    double = Take(_SINGER, _SEED + 2, cents=-6.0, late_ms=14.0, formant=0.97, vibrato_cents=15.0)
    bowed = strum(_halves(_CHORDS, "D......."), _TIME, Hand(8.0, 6.0, 80, 5.0), _SEED, "strings")
    return play_soft_kit(_drums(), _SECONDS, _SEED) | {
        "bass": _bass(),
        "guitar": _guitar(),
        "piano": _piano(),
        "strings": play(bowed, program=STRINGS, seconds=_SECONDS),
        "voice": tame(sing(_LINES, _TIME, Take(_SINGER, _SEED + 1, breath=1.2), _SECONDS), 4500.0, _SIBILANTS),
        "double": tame(sing(_LINES, _TIME, double, _SECONDS), 4500.0, _SIBILANTS),
    }


_CALM = Compressor(14.0, 2.5, 12.0, 160.0)
_SOFTENED = Compressor(16.0, 3.0, 0.5, 70.0)
_FIRM = Compressor(16.0, 3.0, 6.0, 180.0)
_STRIPS = (
    Strip("kick", -26.0, width=0.3, before=(low_cut(35.0), bell(300.0, -4.0, 1.0), low_shelf(90.0, 2.0)),
          compressors=(_SOFTENED,), sends_db={"room": -14.0}),
    Strip("brush", -28.5, pan=-0.06, width=0.8, before=(low_cut(110.0), bell(420.0, -3.0, 1.2)),
          compressors=(_SOFTENED,), sends_db={"room": -8.0, "plate": -14.0}),
    Strip("cross stick", -31.0, pan=0.12, width=0.6, sends_db={"plate": -6.0}),
    Strip("shaker", -38.0, pan=0.45, width=0.8, before=(low_cut(2200.0), high_shelf(12000.0, -1.0)),
          sends_db={"room": -14.0}),
    Strip("ride", -36.0, pan=-0.35, width=0.7, before=(low_cut(400.0),), sends_db={"room": -14.0}),
    Strip("bass", -22.5, before=(low_cut(32.0), low_shelf(95.0, 4.0), bell(250.0, -2.5, 1.0)), compressors=(_FIRM,),
          after=(bell(800.0, 2.0, 0.9), high_cut(6000.0)), ducked_by="kick", duck_db=1.5),
    Strip("guitar", -24.5, pan=-0.35, before=(low_cut(85.0), bell(210.0, -3.0, 0.9), high_shelf(8000.0, 2.0)),
          compressors=(_CALM,), sends_db={"room": -12.0, "plate": -17.0}),
    Strip("piano", -26.5, pan=0.3, width=0.9, before=(low_cut(90.0), bell(300.0, -3.0, 0.8), high_shelf(5000.0, 3.0)),
          compressors=(_CALM,), sends_db={"room": -14.0, "plate": -14.0}),
    Strip("strings", -32.0, width=1.2, before=(low_cut(150.0), bell(350.0, -2.0, 0.8), high_shelf(5000.0, 2.0)),
          sends_db={"hall": -7.0}),
    Strip("voice", -20.0, before=(low_cut(120.0), bell(430.0, -3.5, 1.1), bell(3200.0, -5.0, 0.6)),
          compressors=(Compressor(10.0, 3.0, 3.0, 70.0), _CALM), after=(high_shelf(9000.0, 2.0),),
          sends_db={"plate": -11.0, "room": -20.0}),
    Strip("double", -31.0, pan=0.2, before=(low_cut(180.0), bell(3200.0, -5.0, 0.6)), compressors=(_FIRM,),
          sends_db={"plate": -10.0}),
)  # fmt: skip
_RETURNS = {
    "room": Return(ROOM, (low_cut(110.0), high_shelf(5000.0, -3.0))),
    "plate": Return(PLATE, (low_cut(220.0), high_shelf(6000.0, -1.5))),
    "hall": Return(HALL, (low_cut(220.0), high_cut(8500.0))),
}
_BUS = (low_shelf(110.0, 2.5),)


def combine(stems: Mapping[str, Audio]) -> dict[str, Audio]:
    """Return every strip and space as it goes to the sum."""
    return mix(stems, _STRIPS, _RETURNS, _BUS, (_TIME.at(0), _TIME.at(_BARS)), _SEED)


SONG = Song(
    slug="nine_lanterns_on_the_slipway.reference",
    title="The Ferryman Keeps the Change",
    style="slow ballad for a voice and steel-string guitars",
    key="D major",
    timeline=_TIME,
    sections=(Section("chorus", 0, _BARS), Section("ending", _BARS, 1)),
    seed=_SEED,
    perform=perform,
    combine=combine,
    sources={
        "guitar, piano, bass, strings": "FluidR3 GM sound font (MIT), with own pick, wood, fingertips and air",
        "soft drums": "FluidR3 GM sound font (MIT), kits 32 and 40, layered with own synthesis",
        "voice": "espeak-ng, voice en-us+f3, set to pitch and time by own code; words and tune are own",
        "song": "words, tune, chords, arrangement, mix and master made for this project",
    },
    windows={
        "integrated_lufs": (-15.0, -12.0),
        "true_peak_dbtp": (-2.0, -1.0),
        "loudness_range_lu": (0.0, 6.0),
        "peak_to_loudness_db": (11.0, 14.0),
    },
    finish=lambda total: mastered(total, -13.0),
    bits=13,
)
