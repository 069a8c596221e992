"""Three Crates and a Tide Table: the score.

The Harbour Street Record Club on a Thursday, in E minor, 96 beats a minute: a bar lasts 2.5 seconds.
"""

from __future__ import annotations

from ..drumming import CLOSED_HAT, CRASH, KICK, OPEN_HAT, SIDE_STICK, SNARE, Feel, over_bars, strike
from ..fretting import BarOfChord, Hand, Shape, bass_line, shapes_by_name, strum
from ..recitation import ending_of, moved, spoken
from ..score import Note, Phrase, Section, Timeline, phrase

SEED = 9_603
SECONDS = 64.6
TIMELINE = Timeline(tempo_bpm=96.0, first_downbeat_s=0.2)
SECTIONS = (
    Section("intro", 0, 2),
    Section("verse 1", 2, 8),
    Section("chorus 1", 10, 4),
    Section("verse 2", 14, 4),
    Section("chorus 2", 18, 4),
    Section("ending", 22, 2),
)
VERSE, CHORUS, VERSE_TWO, CHORUS_TWO, ENDING = 2, 10, 14, 18, 22

_NAMES = "Em C Em C Am B Em C Am B Am B Em G Em C Am B Am B Em G Em Em"
_KEYS: dict[str, Shape] = {
    "Em": (55, 59, 62, 66),
    "C": (52, 55, 59, 62),
    "Am": (55, 59, 60, 64),
    "B": (57, 60, 63, 66),
    "G": (55, 59, 62, 64),
}
# Roots between 41 and 66 hertz; the second key is a step on the way to the next root.
_LOW = {"Em": (28, 31), "C": (36, 35), "Am": (33, 35), "B": (35, 30), "G": (31, 33)}

# How late the off-sixteenths come: 54 to 46 in the drums, and the voice goes with them.
_SWING_STEPS = 0.16
_SWING_MS = 25.0
_DRUMMER = Feel(spread_ms=2.0, late_ms=0.0, velocity_spread=4.0, swing_ms=_SWING_MS)
_BACKBEAT = Feel(spread_ms=1.5, late_ms=3.0, velocity_spread=3.0, swing_ms=_SWING_MS)
_HATS = Feel(spread_ms=3.0, late_ms=1.0, velocity_spread=8.0, swing_ms=_SWING_MS)


def drums() -> dict[str, list[Note]]:
    """Return the strokes of every drum by name."""
    verse_kick = ("X......xx.X.....", "X..x...x..X...-.")
    chorus_kick = ("X.....xx..X....x", "X..x..x...X..x..")
    kick = [
        (1, "X.........X.o.x."),
        *over_bars(VERSE, 7, *verse_kick),
        (9, "X......xx......."),
        *over_bars(CHORUS, 4, *chorus_kick),
        *over_bars(VERSE_TWO, 3, *verse_kick),
        (17, "X......xX.X.x..."),
        *over_bars(CHORUS_TWO, 4, *chorus_kick),
        (ENDING, "X"),
    ]
    backbeat = ("....X..g.g..X...", "....X..g....X..g")
    snare = [
        (1, "....x.......x.gx"),
        *over_bars(VERSE, 7, *backbeat),
        (9, "....X..g....X-gx"),
        *over_bars(CHORUS, 4, "....X.......X..g", "....X..g.g..X..."),
        *over_bars(VERSE_TWO, 3, *backbeat),
        (17, "....X..g..-gx.xx"),
        *over_bars(CHORUS_TWO, 3, "....X.......X..g", "....X..g.g..X..."),
        (21, "....X..g.g..X-xx"),
    ]
    closed = [
        (1, "o.-.o.-.o.-.o.-."),
        *over_bars(VERSE, 8, "x.o-x.o.x-o.x.og", "x.o.x-o.x.o-x.g."),
        *over_bars(CHORUS, 4, "x-ogx.o-x-ogx.o.", "x-ogx-o.x.ogx-.."),
        *over_bars(VERSE_TWO, 4, "x.o-x.o.x-o.x.og", "x.o.x-o.x.o-x.g."),
        *over_bars(CHORUS_TWO, 4, "x-ogx.o-x-ogx.o.", "x-ogx-o.x.ogx-.."),
    ]
    opened = [
        (3, "..............o."),
        (7, "..............o."),
        *over_bars(CHORUS, 4, "..............o.", "......o.......x."),
    ]
    opened += over_bars(CHORUS_TWO, 4, "..............o.", "......o.......x.")
    stick = [*over_bars(VERSE + 4, 4, "..........o..o..", "......o......o..")]
    shaker = [*over_bars(CHORUS, 4, "-.o--.o--.o--.o-"), *over_bars(CHORUS_TWO, 4, "-.o--.o--.o--.o-")]
    crash = [(VERSE, "o"), (CHORUS, "x"), (CHORUS_TWO, "X"), (ENDING, "X")]
    return {
        "kick": strike(kick, KICK, TIMELINE, _DRUMMER, SEED, "kick"),
        "snare": strike(snare, SNARE, TIMELINE, _BACKBEAT, SEED, "snare"),
        "closed hat": strike(closed, CLOSED_HAT, TIMELINE, _HATS, SEED, "closed hat"),
        "open hat": strike(opened, OPEN_HAT, TIMELINE, _HATS, SEED, "open hat"),
        "stick": strike(stick, SIDE_STICK, TIMELINE, _HATS, SEED, "stick"),
        "shaker": strike(shaker, CLOSED_HAT, TIMELINE, _HATS, SEED, "shaker"),
        "crash": strike(crash, CRASH, TIMELINE, _DRUMMER, SEED, "crash"),
    }


def sub() -> list[Note]:
    """Return the sub bass: with the kick, long enough to be felt, stopped before the snare now and then."""
    names = _NAMES.split()
    verse = ("0......,0.0...1.", "0..0..,0..0...,.")
    chorus = ("0.....0...0....1", "0.....0...0..1..")
    plan = [
        (1, "0.........0.0.1."),
        *over_bars(VERSE, 8, *verse),
        *over_bars(CHORUS, 4, *chorus),
        *over_bars(VERSE_TWO, 4, *verse),
        *over_bars(CHORUS_TWO, 4, *chorus),
        (ENDING, "0" + "." * 15),
    ]
    return bass_line([(bar, _LOW[names[bar]], line) for bar, line in plan], TIMELINE, SEED, "sub")


def _chords(first: int, bars: int, *patterns: str) -> list[BarOfChord]:
    """The song's chords over a stretch, with patterns repeated in turn."""
    shapes = shapes_by_name(_KEYS, _NAMES)[first : first + bars]
    return [BarOfChord(first + n, shape, patterns[n % len(patterns)]) for n, shape in enumerate(shapes)]


def keys() -> list[Note]:
    """Return the electric piano."""
    bars = [
        *_chords(0, 2, "D.........d.....", "D.....d...d....."),
        *_chords(VERSE, 8, "D.......d.....m.", "D.....d...d....."),
        *_chords(CHORUS, 4, "D...d...D.....d.", "D.....d...D.d..."),
        *_chords(VERSE_TWO, 4, "D.......d.....m.", "D.....d...d....."),
        *_chords(CHORUS_TWO, 4, "D...d...D.....d.", "D.....d...D.d..."),
        *_chords(ENDING, 1, "D" + "." * 27),
    ]
    return strum(bars, TIMELINE, Hand(12.0, 4.0, 98, 6.0), SEED, "keys")


_BARS_OF_CHIMES = (
    (0, "0 E5 .5, .75 G5 .5, 1.5 B5 1.5, 3 A5 .5, 3.5 G5 .5"),
    (1, "0 F#5 1.5, 1.5 D#5 .5, 2 C5 .5, 2.5 B4 1.25"),
    (2, "0 E5 .5, .75 G5 .5, 1.5 B5 1.5, 3 D6 .5, 3.5 B5 .5"),
    (3, "0 A5 1, 1 G5 .5, 1.5 E5 .5, 2 D5 1.75"),
)
_OPENING = (
    (0, "0 B5 .5, .75 A5 .5, 1.5 G5 1.5, 3 E5 1"),
    (1, "0 D5 .5, .75 E5 .5, 1.5 G5 2"),
    (ENDING, "0 B5 .5, .75 A5 .5, 1.5 G5 .5, 2 E5 .5, 3 B4 2"),
)


def chimes() -> list[Note]:
    """Return the vibraphone: opening, choruses, ending."""
    figures = list(_OPENING)
    figures += [(chorus + bar, line) for chorus in (CHORUS, CHORUS_TWO) for bar, line in _BARS_OF_CHIMES]
    notes = []
    for bar, line in figures:
        for sung in phrase(bar, "", line).notes:
            notes.append(Note(TIMELINE.at(bar, sung.beat), sung.beats * TIMELINE.beat_s, sung.key, 92))
    return notes


def _said(bar: int, words: str, rhythm: str) -> Phrase:
    return spoken(bar, words, rhythm, lowest_key=43, swing_steps=_SWING_STEPS)


_VERSE_ONE = (
    _said(VERSE, "Harbour Street Record Club, seven by the clock,", "5-4- 6-54 4-53 332."),
    _said(VERSE + 1, "three crates of twelve inch stacked up by the dock,", "6-5- 46-4 5-43 32-."),
    _said(VERSE + 2, "Marta at the counter got the kettle on a flame,", "5433 6-43 3543 3-2."),
    _said(VERSE + 3, "stylus in the groove, every scratch has a name.", "6-54 36-4 35-4 32-."),
    _said(VERSE + 4, "Tide table taped to the inside of the lid,", "6-54 6-33 5-43 32-."),
    _said(VERSE + 5, "somebody's brother kept the sleeves that he hid,", "5-43 6-44 36-4 42-."),
    _said(VERSE + 6, "kick drum knocking like a boat against the pier,", "6-5- 6433 5-34 32-."),
    _said(VERSE + 7, "snare so crisp that the back row can hear.", "6-4- 7-44 6-5- 42-."),
)
_VERSE_TWO = (
    _said(VERSE_TWO, "Six o'clock ferry brings the second hand stock,", "6-45 6-43 35-4 4-2."),
    _said(VERSE_TWO + 1, "scratches on the B side, ticking like a clock,", "6-43 36-4 6-44 32-."),
    _said(VERSE_TWO + 2, "sister on the mixer with a steady little hand,", "5433 6-43 3543 4-2."),
    _said(VERSE_TWO + 3, "best sound system on a strip of wet sand.", "7-5- 6-43 36-4 5-2."),
)
_REFRAIN = (
    _said(CHORUS, "Three crates, one tide table,", "7-5- --.. 5-7- 5-3."),
    _said(CHORUS + 1, "spin it while the night is able,", "7-5- 5-5- 7-5- 5-3."),
    _said(CHORUS + 2, "salt on the window, dust on the label,", "7-44 6-4- 6-44 5-3."),
    _said(CHORUS + 3, "flip it and we start again.", "7-5- 6-6- 7--4 6-.."),
)
REFRAINS = (*_REFRAIN, *moved(_REFRAIN, CHORUS_TWO - CHORUS))
LINES = (*_VERSE_ONE, *_VERSE_TWO, *REFRAINS)


def line_endings() -> tuple[Phrase, ...]:
    """Return the ends of the lines of the verses, where second voices join in."""
    one = (
        "by the clock",
        "by the dock",
        "on a flame",
        "has a name",
        "of the lid",
        "that he hid",
        "the pier",
        "can hear",
    )
    two = ("hand stock", "like a clock", "little hand", "of wet sand")
    lines = (*_VERSE_ONE, *_VERSE_TWO)
    return tuple(
        ending_of(line, words, 2 if words in ("the pier", "can hear", "hand stock") else 3)
        for line, words in zip(lines, (*one, *two), strict=True)
    )


def calls(side: str) -> tuple[Phrase, ...]:
    """Return what is called in from the left or the right, between and behind the lines."""
    left = (
        (0, "Harbour Street", "........ 5-3-7-.."),
        (VERSE + 1, "stacked up", ".............7-5"),
        (VERSE + 5, "yes", "..............7-"),
        (CHORUS, "three crates", ".....6-4........"),
        (CHORUS + 3, "again", ".............4-7--"),
        (VERSE_TWO + 1, "tick tock", ".............7-4-"),
        (CHORUS_TWO, "three crates", ".....6-4........"),
        (CHORUS_TWO + 3, "again", ".............4-7--"),
        (ENDING, "again", "....4-7--......."),
    )
    right = (
        (1, "spin it", "........7-4....."),
        (VERSE + 3, "yes", ".............7--"),
        (VERSE + 7, "right here", ".............5-7"),
        (CHORUS + 1, "spin it", ".............7-4-"),
        (VERSE_TWO + 3, "wet sand", ".............7-4"),
        (CHORUS_TWO + 1, "spin it", ".............7-4-"),
        (ENDING, "start again", "........ 7-4-7---"),
    )
    return tuple(_said(bar, words, rhythm) for bar, words, rhythm in (left if side == "left" else right))
