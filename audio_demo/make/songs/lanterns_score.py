"""Nine Lanterns on the Slipway: the score.

A slow one from the Harbour Street Record Club, in G major, 75 beats a minute: a bar lasts 3.2 seconds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ..drumming import CLOSED_HAT, CRASH, KICK, PEDAL_HAT, RIDE, SIDE_STICK, SNARE, Feel, over_bars, strike
from ..fretting import BarOfChord, Hand, Shape, bass_line, let_ring, strum
from ..score import Note, Phrase, Section, Timeline, phrase

SEED = 20_262
SECONDS = 70.0
TIMELINE = Timeline(tempo_bpm=75.0, first_downbeat_s=0.2)
SECTIONS = (
    Section("intro", 0, 2),
    Section("verse 1", 2, 4),
    Section("chorus 1", 6, 4),
    Section("verse 2", 10, 2),
    Section("chorus 2", 12, 6),
    Section("ending", 18, 2),
)
VERSE, CHORUS, VERSE_TWO, CHORUS_TWO, ENDING = 2, 6, 10, 12, 18

# In the last bar before the ending all but the voice stop at this beat.
_BREAK_BEAT = 1.75

# Two chords a bar, from the first bar on.
_FORM = (
    "G D/F# Em C | G D/F# Em C G D/F# Am D | C D Em G/B C D G Dsus"
    " | G D/F# Am D | C D Em G/B C D Em G/B Am D G G | C G/D G G"
)
_NAMES = [name for name in _FORM.split() if name != "|"]
# Sounding keys, lowest string first.
_LOW: dict[str, Shape] = {
    "G": (43, 50, 55, 59, 62, 67),
    "D/F#": (42, 50, 57, 62, 66),
    "Em": (40, 52, 55, 59, 62, 67),
    "C": (48, 52, 55, 62, 67),
    "Am": (45, 52, 57, 60, 64, 67),
    "D": (50, 57, 62, 66),
    "Dsus": (50, 57, 62, 67),
    "G/B": (47, 50, 55, 62, 67),
    "G/D": (50, 55, 59, 62, 67),
}
# The second guitar, with a capo on the fifth fret.
_HIGH: dict[str, Shape] = {
    "G": (50, 55, 59, 67, 71),
    "D/F#": (54, 57, 62, 66, 74),
    "Em": (52, 59, 64, 67, 71),
    "C": (55, 60, 64, 67, 74),
    "Am": (57, 60, 64, 69, 72),
    "D": (57, 62, 66, 69, 74),
    "Dsus": (57, 62, 67, 69, 74),
    "G/B": (59, 62, 67, 71, 74),
    "G/D": (50, 55, 62, 67, 71),
}
_BOWED: dict[str, Shape] = {
    "G": (43, 55, 62, 67, 71),
    "D/F#": (42, 54, 62, 66, 69),
    "Em": (40, 55, 59, 67, 71),
    "C": (48, 55, 60, 64, 67),
    "Am": (45, 57, 60, 64, 69),
    "D": (38, 57, 62, 66, 69),
    "Dsus": (38, 57, 62, 67, 69),
    "G/B": (47, 55, 62, 67, 74),
    "G/D": (38, 55, 59, 67, 71),
}
_ROOT = {"G": 31, "D/F#": 30, "Em": 28, "C": 36, "Am": 33, "D": 38, "Dsus": 38, "G/B": 35, "G/D": 38}
_FIFTH = {"G": 38, "D/F#": 38, "Em": 35, "C": 31, "Am": 28, "D": 33, "Dsus": 33, "G/B": 38, "G/D": 31}

_SOFT = Feel(spread_ms=5.0, late_ms=3.0, velocity_spread=5.0)
_LOOSE = Feel(spread_ms=6.0, late_ms=0.0, velocity_spread=8.0, swing_ms=9.0)

_VERSE_TUNE = (
    ".5 D3 .5, 1 G3 .5, 1.5 B3 1, 2.5 A3 .5, 3 G3 .6, 3.6 E3 .8, 4.5 D3 .5, 5 E3 .5, 5.5 G3 .5, 6 E3 .5, 6.5 D3 1.4",
    ".5 G3 .5, 1 A3 .5, 1.5 B3 .5, 2 D4 1, 3 B3 .6, 3.6 A3 .8, 4.5 G3 .5, 5 A3 .5, 5.5 C4 .5, 6 B3 .5, 6.5 A3 1.3",
)
_CHORUS_TUNE = (
    "0 E4 1, 1 D4 .5, 1.5 E4 .5, 2 D4 .5, 2.5 B3 .5, 3 A3 .5, 3.5 G3 .8,"
    " 4.5 B3 .5, 5 D4 .5, 5.5 E4 .5, 6 D4 .5, 6.5 B3 1.3",
    "0 E4 .5, .5 D4 .5, 1 E4 1, 2 D4 .5, 2.5 B3 .75, 3.25 A3 .6, 4 G3 .5, 4.5 A3 .5, 5 B3 1, 6 A3 .5, 6.5 G3 1.4",
)
LEAD = (
    phrase(VERSE, "Someone left a lantern on the slipway stone", _VERSE_TUNE[0]),
    phrase(VERSE + 2, "nine of them were shining when the boats came home", _VERSE_TUNE[1]),
    phrase(VERSE_TWO, "Spring came in with fiddles on a sawdust floor", _VERSE_TUNE[1]),
    phrase(ENDING, "nine lanterns", "1 D4 1, 2 A3 .8, 3 G3 2.4"),
)
LAST_NOTE_S = TIMELINE.at(ENDING, LEAD[-1].notes[-1].beat + LEAD[-1].notes[-1].beats)
_REFRAIN = (
    phrase(0, "Nine lanterns on the slipway, one for every tide", _CHORUS_TUNE[0]),
    phrase(2, "softly, softly, sister, keep the salt outside", _CHORUS_TUNE[1]),
)
_LAST_LINE = phrase(
    CHORUS_TWO + 4,
    "Set one in the window, set one by the shore",
    "0 D4 .5, .5 E4 1, 1.5 D4 .5, 2 B3 .5, 2.5 D4 .5, 3 G4 .8, 4 E4 .5, 4.5 D4 1, 5.5 B3 .5, 6 A3 .5, 6.5 G3 .6",
)


def refrain(bar: int) -> tuple[Phrase, ...]:
    """Return the lines of the chorus that starts at a bar."""
    lines = tuple(replace(line, bar=line.bar + bar) for line in _REFRAIN)
    return (*lines, _LAST_LINE) if bar == CHORUS_TWO else lines


def harmony(lines: tuple[Phrase, ...], steps: int) -> tuple[Phrase, ...]:
    """Return the lines moved by steps of the G major scale."""
    ladder = [key for key in range(36, 90) if key % 12 in (0, 2, 4, 6, 7, 9, 11)]
    return tuple(
        replace(line, notes=tuple(replace(n, key=ladder[ladder.index(n.key) + steps]) for n in line.notes))
        for line in lines
    )


def changes_s() -> list[float]:
    """Return the moments at which the left hand moves."""
    moves = [n for n in range(1, len(_NAMES)) if _NAMES[n] != _NAMES[n - 1]]
    # The break before the ending: both hands lie down on the strings.
    return sorted([TIMELINE.at(n / 2) for n in moves] + [TIMELINE.at(ENDING - 1, _BREAK_BEAT), SECONDS])


def _halves(first: int, bars: int, table: dict[str, Shape], *patterns: str) -> list[BarOfChord]:
    """The song's half bars over a stretch, with patterns repeated in turn."""
    return [
        BarOfChord(number / 2, table[_NAMES[number]], patterns[number % len(patterns)])
        for number in range(2 * first, 2 * (first + bars))
    ]


_FIRST_HAND = ("0.3.2.4.", "0.4.1.3.")
_SECOND_HAND = ("..3.1.2.", "0.2.4.13")


def first_guitar() -> list[Note]:
    """Return the left guitar: picked throughout, the thumb on the low strings."""
    picked = [
        *_halves(0, 2, _LOW, *_FIRST_HAND),
        *_halves(VERSE, 4, _LOW, "0.3.2.4.", "0.431.3."),
        *_halves(CHORUS, 4, _LOW, "0.342.43", "0.431.34"),
        *_halves(VERSE_TWO, 2, _LOW, *_FIRST_HAND),
        *_halves(CHORUS_TWO, 5, _LOW, "0.342.43", "0.431.34"),
        BarOfChord(ENDING - 1, _LOW["G"], "D......"),
        *_halves(ENDING, 1, _LOW, "0.2.3.4.", "0.2.3..."),
        BarOfChord(ENDING + 1, _LOW["G"], "d" + "." * 23),
    ]
    return let_ring(strum(picked, TIMELINE, Hand(34.0, 5.0, 92, 8.0), SEED, "first guitar"), changes_s())


def second_guitar() -> list[Note]:
    """Return the right guitar: sparse answers in the verses, strummed in the choruses."""
    played = [
        *_halves(1, 1, _HIGH, *_SECOND_HAND),
        *_halves(VERSE, 4, _HIGH, *_SECOND_HAND),
        *_halves(CHORUS, 4, _HIGH, "D..ud.u.", "d..uD.uu"),
        *_halves(VERSE_TWO, 2, _HIGH, *_SECOND_HAND),
        *_halves(CHORUS_TWO, 5, _HIGH, "D..ud.u.", "d.uuD.uu"),
        BarOfChord(ENDING - 1, _HIGH["G"], "D......"),
        *_halves(ENDING, 1, _HIGH, "..3.1.2."),
        BarOfChord(ENDING + 1, _HIGH["G"], "d" + "." * 23),
    ]
    return let_ring(strum(played, TIMELINE, Hand(28.0, 6.0, 86, 9.0), SEED, "second guitar"), changes_s())


def bass() -> list[Note]:
    """Return the bass: long roots, with the kick where there is one."""
    long, walking = ("0.....0.", "0.......", "0.....1."), ("0.....0.", "0...0.1.")
    plan = [
        *((n, long[n % 3]) for n in range(2 * CHORUS, 2 * VERSE_TWO)),
        *((n, "0.......") for n in range(2 * VERSE_TWO, 2 * CHORUS_TWO)),
        *((n, walking[n % 2]) for n in range(2 * CHORUS_TWO, 2 * (ENDING - 1))),
        (2 * (ENDING - 1), "0.....,."),
        *((n, "0.......") for n in (2 * ENDING, 2 * ENDING + 1)),
    ]
    doubled = Timeline(TIMELINE.tempo_bpm, TIMELINE.first_downbeat_s, 2)
    bars = [(n, (_ROOT[_NAMES[n]], _FIFTH[_NAMES[n]]), pattern) for n, pattern in plan]
    last = Note(TIMELINE.at(ENDING + 1), 2.6, 31, 70)
    return [*bass_line(bars, doubled, SEED, "bass"), last]


def drums() -> dict[str, list[Note]]:
    """Return the strokes of the soft kit: from the second verse on, fuller in the last chorus."""
    kick = [
        *over_bars(VERSE_TWO, 2, "o.....-. o.......", "o....... o.....-."),
        *over_bars(CHORUS_TWO, 5, "x.....o. x.......", "x.....o. x...o.o."),
        (ENDING - 1, "x"),
    ]
    brush = [
        *over_bars(VERSE_TWO, 2, "..g.o..g ..g.o.g.", "..g.o.g. .gg.o..g"),
        *over_bars(CHORUS_TWO, 5, "..g.x.gg ..g.x.g.", "..g.x..g .gg.x.gg"),
        (ENDING - 1, "..g.o"),
    ]
    stick = over_bars(CHORUS_TWO, 5, "....-....... -...")
    shaker = [
        *over_bars(CHORUS, 4, "-g.g-g.g-g.g-g.g"),
        *over_bars(CHORUS_TWO, 5, "ogo-ogo-ogo-ogo-"),
    ]
    ride = over_bars(CHORUS_TWO, 5, "-...-.g.-...-.g.")
    return {
        "kick": strike(kick, KICK, TIMELINE, _SOFT, SEED, "kick"),
        "brush": strike(brush, SNARE, TIMELINE, _SOFT, SEED, "brush"),
        "cross stick": strike(stick, SIDE_STICK, TIMELINE, _SOFT, SEED, "cross stick"),
        "shaker": strike(shaker, CLOSED_HAT, TIMELINE, _LOOSE, SEED, "shaker"),
        "ride": strike(ride, RIDE, TIMELINE, _SOFT, SEED, "ride"),
        "pedal hat": strike(over_bars(VERSE_TWO, 2, "....-.......-..."), PEDAL_HAT, TIMELINE, _SOFT, SEED, "pedal hat"),
        "swell cymbal": strike([(CHORUS_TWO, "o")], CRASH, TIMELINE, _SOFT, SEED, "swell cymbal"),
    }


def sweeps() -> list[tuple[float, float, float]]:
    """Return the circles of the stirring brush: one for each beat, fuller on two and four."""
    bars = [*range(VERSE_TWO, ENDING - 1)]
    return [
        (TIMELINE.at(bar, beat) - 0.06, 1.06 * TIMELINE.beat_s, 0.75 + 0.25 * (beat % 2))
        for bar in bars
        for beat in range(4)
    ]


def bowed(part: Sequence[int]) -> list[Note]:
    """Return held strings of the choruses; ``part`` says which voices of the chord are played."""
    bars = [
        *_halves(CHORUS, 4, _BOWED, "D......."),
        *_halves(CHORUS_TWO, 5, _BOWED, "D......."),
        BarOfChord(ENDING - 1, _BOWED["G"], "D....."),
        BarOfChord(ENDING, _BOWED["C"], "D......."),
        BarOfChord(ENDING + 0.5, _BOWED["G/D"], "D......."),
        BarOfChord(ENDING + 1, _BOWED["G"], "D" + "." * 13),
    ]
    chosen = [replace(bar, shape=tuple(bar.shape[voice] for voice in part)) for bar in bars]
    name = f"strings {' '.join(map(str, part))}"
    notes = strum(chosen, TIMELINE, Hand(8.0, 6.0, 84, 5.0), SEED, name)
    # A bow change overlaps a little with the note before.
    return [replace(note, length_s=note.length_s + 0.1) for note in notes]
