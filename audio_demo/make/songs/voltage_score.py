"""Slack Water Voltage: the score.

The last hour of an electronic evening at the Harbour Street Record Club, in G minor, 128 beats a
minute: a bar lasts 1.875 seconds.
"""

from __future__ import annotations

from ..drumming import CLOSED_HAT, CRASH, KICK, OPEN_HAT, SNARE, Feel, over_bars, strike
from ..fretting import BarOfChord, Hand, Shape, bass_line, shapes_by_name, strum
from ..recitation import spoken
from ..score import Note, Phrase, Section, Timeline, phrase

SEED = 12_801
SECONDS = 69.0
TIMELINE = Timeline(tempo_bpm=128.0, first_downbeat_s=0.2)
SECTIONS = (
    Section("intro", 0, 4),
    Section("verse 1", 4, 8),
    Section("chorus 1", 12, 8),
    Section("verse 2", 20, 4),
    Section("chorus 2", 24, 8),
    Section("ending", 32, 2),
)
VERSE, CHORUS, VERSE_TWO, CHORUS_TWO, ENDING = 4, 12, 20, 24, 32

_NAMES = "Gm Gm Cm Eb Gm Gm Cm Eb Gm Gm Cm F Gm Eb Cm F Gm Eb Cm F Gm Eb Cm F Gm Eb Cm F Gm Eb Cm F Gm Gm"
_PAD: dict[str, Shape] = {
    "Gm": (55, 58, 62, 65, 69),
    "Eb": (51, 55, 58, 62, 67),
    "Cm": (51, 55, 58, 62, 67),
    "F": (53, 57, 60, 65, 67),
}
_ARP: dict[str, Shape] = {
    "Gm": (67, 70, 74, 77, 81),
    "Eb": (67, 70, 74, 75, 79),
    "Cm": (67, 70, 72, 75, 79),
    "F": (65, 69, 72, 77, 79),
}
_CHORD: dict[str, Shape] = {
    "Gm": (43, 55, 62, 70),
    "Eb": (39, 55, 58, 67),
    "Cm": (36, 55, 60, 67),
    "F": (41, 57, 60, 69),
}
# Roots between 43 and 78 hertz, and a note above each for the middle bass.
_ROOT = {"Gm": 31, "Eb": 39, "Cm": 36, "F": 29}
_ABOVE = {"Gm": (43, 46), "Eb": (39, 43), "Cm": (36, 43), "F": (41, 45)}

_STEADY = Feel(spread_ms=0.4, late_ms=0.0, velocity_spread=1.5)
_CLAPS = Feel(spread_ms=1.5, late_ms=1.0, velocity_spread=4.0)
_LOOSE = Feel(spread_ms=2.5, late_ms=0.0, velocity_spread=7.0, swing_ms=7.0)


def _choruses(*patterns: str) -> list[tuple[int, str]]:
    """A pattern over both choruses."""
    return over_bars(CHORUS, 8, *patterns) + over_bars(CHORUS_TWO, 8, *patterns)


def kicks() -> list[Note]:
    """Return the kick: broken in the verses, on every beat in the choruses."""
    bars = [
        *over_bars(VERSE, 7, "X.....x...x.....", "X.....x...x..x.."),
        (11, "X...X...X.X.X..."),
        *over_bars(CHORUS, 7, "X...X...X...X..."),
        (19, "X...X...X...X.x."),
        *over_bars(VERSE_TWO, 3, "X.........x....."),
        (23, "X...X...X.X.xxx."),
        *over_bars(CHORUS_TWO, 7, "X...X...X...X..."),
        (31, "X...X...X...X.x."),
        (32, "X"),
    ]
    return strike(bars, KICK, TIMELINE, _STEADY, SEED, "kick")


def drums() -> dict[str, list[Note]]:
    """Return the strokes of every other drum by name."""
    clap = [*over_bars(VERSE + 4, 4, "....o.......o..."), *_choruses("....X.......X...", "....X.......X..g")]
    snap = [
        *over_bars(VERSE, 7, "....x.......x...", "....x..g....x..-"),
        (11, "....x...x.xxxxxx"),
        *_choruses("....X.......X...", "....X.......X.-g"),
        *over_bars(VERSE_TWO, 3, "....o.......o..."),
        (23, "....o...o.o.oxXX"),
    ]
    closed = [
        *over_bars(2, 2, "..-...-...-...-."),
        *over_bars(VERSE, 8, "-.o--.o.-.o--go.", "-.o--.o-g.o--.og"),
        *over_bars(VERSE_TWO, 4, "..-.g.-...-.g.-."),
        *_choruses("-gx--gx--gx--gx-", "-gx-ogx--gx-ogxo"),
    ]
    opened = [*_choruses("..x...x...x...x.")]
    shaker = [*_choruses("xo-ox-o-xo-ox-o-"), *over_bars(VERSE + 4, 4, "-.o.-.o.-.o.-.o.")]
    crash = [(VERSE, "o"), (CHORUS, "X"), (CHORUS + 4, "o"), (CHORUS_TWO, "X"), (CHORUS_TWO + 4, "x"), (ENDING, "X")]
    return {
        "clap": strike(clap, SNARE, TIMELINE, _CLAPS, SEED, "clap"),
        "second clap": strike(clap, SNARE, TIMELINE, _CLAPS, SEED, "second clap"),
        "snap": strike(snap, SNARE, TIMELINE, _STEADY, SEED, "snap"),
        "closed hat": strike(closed, CLOSED_HAT, TIMELINE, _LOOSE, SEED, "closed hat"),
        "open hat": strike(opened, OPEN_HAT, TIMELINE, _LOOSE, SEED, "open hat"),
        "shaker": strike(shaker, CLOSED_HAT, TIMELINE, _LOOSE, SEED, "shaker"),
        "crash": strike(crash, CRASH, TIMELINE, _STEADY, SEED, "crash"),
    }


def sub() -> list[Note]:
    """Return the sub bass: long roots, the kick cuts its own hole."""
    names = _NAMES.split()
    plan = [
        *over_bars(VERSE, 8, "0.....,.0..,0..,", "0.....,.0.,.0..."),
        *over_bars(CHORUS, 8, "0...0...0...0..."),
        *over_bars(VERSE_TWO, 4, "0.........,....."),
        *over_bars(CHORUS_TWO, 8, "0...0...0...0..."),
        (32, "0" + "." * 19),
    ]
    return bass_line([(bar, (_ROOT[names[bar]],), line) for bar, line in plan], TIMELINE, SEED, "sub")


def middle_bass() -> list[Note]:
    """Return the middle bass: off the beat in the choruses."""
    names = _NAMES.split()
    plan = [
        *over_bars(VERSE, 8, "0.,0..,.0.,0..1,", "0.,0..,.0.,0.1.,"),
        *over_bars(CHORUS, 8, "..0.,.00..0.,.01", "..0.,.00..0.,10."),
        (23, "0.0.0.0.00000000"),
        *over_bars(CHORUS_TWO, 8, "..0.,.00..0.,.01", "..0.,.00..0.,10."),
        (32, "0..............."),
    ]
    return bass_line([(bar, _ABOVE[names[bar]], line) for bar, line in plan], TIMELINE, SEED, "middle bass")


def _chords(first: int, bars: int, table: dict[str, Shape], *patterns: str) -> list[BarOfChord]:
    """The song's chords over a stretch, with patterns repeated in turn."""
    shapes = shapes_by_name(table, _NAMES)[first : first + bars]
    return [BarOfChord(first + n, shape, patterns[n % len(patterns)]) for n, shape in enumerate(shapes)]


def pad() -> list[Note]:
    """Return the held chords, all through the song."""
    held = "D" + "." * 15
    bars = [*_chords(0, 32, _PAD, held), *_chords(ENDING, 1, _PAD, "D" + "." * 27)]
    return strum(bars, TIMELINE, Hand(4.0, 2.0, 100, 3.0), SEED, "pad")


def stabs() -> list[Note]:
    """Return the short chords of the choruses, beside the kick."""
    bars = [
        *_chords(CHORUS, 8, _PAD, "m..m..m...m..m..", "m..m..m...m.m.m."),
        *_chords(CHORUS_TWO, 8, _PAD, "m..m..m...m..m..", "m..m..m...m.m.m."),
        *_chords(ENDING, 1, _PAD, "m..m..m........."),
    ]
    return strum(bars, TIMELINE, Hand(3.0, 2.0, 118, 5.0), SEED, "stabs")


def plucks() -> list[Note]:
    """Return the running figure of the intro and the verses."""
    pattern = ("0.2.3.1.4.2.3.1.", "0.2.3.4.1.3.2.4.")
    bars = [
        *_chords(0, 12, _ARP, *pattern),
        *_chords(VERSE_TWO, 4, _ARP, *pattern),
        *_chords(ENDING, 1, _ARP, "0.2.3.1."),
    ]
    return strum(bars, TIMELINE, Hand(0.0, 2.0, 96, 9.0), SEED, "plucks")


def carrier() -> list[Note]:
    """Return the chords that speak the vocoder's words."""
    bars = [
        *_chords(CHORUS, 8, _CHORD, "D" + "." * 15),
        *_chords(CHORUS_TWO, 8, _CHORD, "D" + "." * 15),
        *_chords(ENDING, 2, _CHORD, "D" + "." * 15),
    ]
    return strum(bars, TIMELINE, Hand(0.0, 0.0, 112, 0.0), SEED, "carrier")


_HOOK = (
    (0, "0 D5 .75, .75 F5 .75, 1.5 G5 1, 3 F5 .5, 3.5 D5 .5, 4 Bb4 1.5, 5.5 C5 .5, 6 D5 1.75"),
    (2, "0 D5 .75, .75 F5 .75, 1.5 G5 1, 3 A5 .5, 3.5 G5 .5, 4 F5 1.5, 5.5 D5 .5, 6 C5 1.75"),
    (4, "0 D5 .75, .75 F5 .75, 1.5 G5 1, 3 F5 .5, 3.5 D5 .5, 4 Bb4 1.5, 5.5 C5 .5, 6 D5 1.75"),
    (6, "0 D5 .75, .75 F5 .75, 1.5 Bb5 1, 3 A5 .5, 3.5 F5 .5, 4 G5 1.5, 5.5 F5 .5, 6 C5 1.75"),
)
_ANSWERS = (
    (1, "2 D5 .5, 2.5 F5 .5, 3 G5 .9"),
    (3, "2 C5 .5, 2.5 D5 .5, 3 F5 .9"),
    (5, "2 D5 .5, 2.5 F5 .5, 3 Bb5 .9"),
    (7, "2 A5 .5, 2.5 G5 .5, 3 F5 .9"),
)


def lead() -> list[Note]:
    """Return the lead: answers in the first chorus, the whole tune in the second."""
    figures = [(CHORUS + bar, line) for bar, line in _ANSWERS]
    figures += [(CHORUS_TWO + bar, line) for bar, line in _HOOK]
    figures.append((ENDING, "0 D5 .75, .75 F5 .75, 1.5 G5 2.5"))
    notes = []
    for bar, line in figures:
        for sung in phrase(bar, "", line).notes:
            notes.append(Note(TIMELINE.at(bar, sung.beat), sung.beats * TIMELINE.beat_s, sung.key, 108))
    return notes


_REFRAIN = (
    (0, "Slack water, low light", "0--0-0-- 0---0---"),
    (2, "copper under current", "0--0-0-- 0-0-0---"),
    (4, "hold the line till the tide turns", "0-0-0--0 -0-0-0---"),
    (6, "slack water, good night", "0--0-0-- 0---0---"),
)


def vocoder_lines() -> tuple[Phrase, ...]:
    """Return the words of the vocoder: they speak in rhythm, the carrier gives the notes."""
    lines = [
        spoken(chorus + bar, words, rhythm, lowest_key=45)
        for chorus in (CHORUS, CHORUS_TWO)
        for bar, words, rhythm in _REFRAIN
    ]
    return (*lines, spoken(ENDING, "good night", ".... 0---0----", lowest_key=45))


def chops() -> tuple[Phrase, ...]:
    """Return single syllables of a higher voice, cut short, in the second verse and before the choruses."""
    return (
        phrase(VERSE + 7, "low tide low tide", "0 D4 .5, 1.5 F4 .5, 2.5 C4 .4, 3 A4 .4"),
        phrase(VERSE_TWO, "low tide low low tide", "0 D4 .4, .75 D4 .5, 1.5 G4 .4, 2.25 F4 .4, 3 D4 .6"),
        phrase(VERSE_TWO + 1, "low tide low low tide", "0 D4 .4, .75 D4 .5, 1.5 Bb4 .4, 2.25 G4 .4, 3 F4 .6"),
        phrase(VERSE_TWO + 2, "low tide low low tide", "0 C4 .4, .75 C4 .5, 1.5 G4 .4, 2.25 Eb4 .4, 3 D4 .6"),
        phrase(VERSE_TWO + 3, "low tide low tide", "0 C4 .4, .75 F4 .5, 1.5 A4 .4, 2.25 A4 .6"),
    )
