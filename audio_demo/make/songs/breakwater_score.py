"""Quarter Past the Breakwater: the score.

An evening of the Harbour Street Record Club, in A major, 120 beats a minute: a bar lasts two seconds.
"""

from __future__ import annotations

from dataclasses import replace

from ..drumming import (
    CLOSED_HAT,
    CRASH,
    CRASH_TWO,
    KICK,
    OPEN_HAT,
    RIDE,
    SNARE,
    TAMBOURINE,
    TOM_HIGH,
    TOM_LOW,
    TOM_MID,
    Feel,
    over_bars,
    strike,
)
from ..fretting import BarOfChord, Hand, Shape, bass_line, shapes_by_name, strum
from ..score import Note, Phrase, Section, Timeline, phrase

SEED = 20_261
SECONDS = 72.5
TIMELINE = Timeline(tempo_bpm=120.0, first_downbeat_s=0.2)
SECTIONS = (
    Section("intro", 0, 4),
    Section("verse 1", 4, 8),
    Section("chorus 1", 12, 8),
    Section("verse 2", 20, 4),
    Section("chorus 2", 24, 8),
    Section("ending", 32, 2),
)
VERSE, CHORUS, VERSE_TWO, CHORUS_TWO, ENDING = 4, 12, 20, 24, 32

# One stroke that rings for a bar and three quarters.
LAST = "D" + "." * 27

_NAMES = "F#m D A E F#m D A E F#m D A E D A E F#m D A Bm E F#m D Bm E D A E F#m D A Bm E A A"
# Sounding keys, lowest string first.
_OPEN: dict[str, Shape] = {
    "A": (45, 52, 57, 61, 64),
    "D": (50, 57, 62, 66),
    "E": (40, 47, 52, 56, 59, 64),
    "F#m": (42, 49, 54, 57, 61, 66),
    "Bm": (47, 54, 57, 62, 66),
}
_POWER: dict[str, Shape] = {
    "A": (45, 52, 57),
    "D": (50, 57, 62),
    "E": (40, 47, 52),
    "F#m": (42, 49, 54),
    "Bm": (47, 54, 59),
}
_HIGH: dict[str, Shape] = {
    "A": (52, 57, 64),
    "D": (57, 62, 66),
    "E": (52, 59, 64),
    "F#m": (54, 61, 66),
    "Bm": (54, 59, 66),
}
_PICKED: dict[str, Shape] = {
    "A": (57, 64, 69, 71),
    "D": (57, 62, 66, 76),
    "E": (59, 64, 68, 71),
    "F#m": (54, 61, 69, 73),
    "Bm": (59, 66, 69, 74),
}
_ORGAN: dict[str, Shape] = {
    "A": (57, 61, 64),
    "D": (57, 62, 66),
    "E": (56, 59, 64),
    "F#m": (57, 61, 66),
    "Bm": (59, 62, 66),
}
_ROOT = {"A": 33, "D": 38, "E": 28, "F#m": 30, "Bm": 35}
_FIFTH = {"A": 40, "D": 33, "E": 35, "F#m": 37, "Bm": 30}

_STEADY = Feel(spread_ms=2.5, late_ms=0.0, velocity_spread=4.0)
_LAID_BACK = Feel(spread_ms=3.0, late_ms=4.0, velocity_spread=3.0)
_LOOSE = Feel(spread_ms=4.0, late_ms=-1.0, velocity_spread=7.0, swing_ms=5.0)

LEAD = (
    phrase(
        4,
        "Street lamps flicker on the salt stone stair",
        "0 C#4 1, 1 C#4 .5, 1.5 B3 .5, 2 A3 .5, 2.5 B3 .5, 3 C#4 .5, 3.5 E4 1, 4.5 D4 .5, 5 D4 1.8",
    ),
    phrase(
        6,
        "six old records in a paper case",
        "0 E4 1, 1 E4 .5, 1.5 D4 .5, 2 C#4 .5, 2.5 B3 .5, 3 C#4 .5, 3.5 E4 1, 4.5 C#4 .5, 5 B3 1.8",
    ),
    phrase(
        8,
        "Someone's humming to the fishing boats",
        "0 F#4 1, 1 E4 .5, 1.5 C#4 .5, 2 A3 .5, 2.5 B3 .5, 3 C#4 .5, 3.5 F#4 1, 4.5 E4 .5, 5 D4 1.8",
    ),
    phrase(
        10,
        "tides keep turning at a steady pace",
        "0 E4 1, 1 E4 .5, 1.5 D4 .5, 2 C#4 .5, 2.5 B3 .5, 3 C#4 .5, 3.5 E4 1, 4.5 F#4 .5, 5 G#4 1.5",
    ),
    phrase(
        20,
        "Ticket stubs and a coat still soaked",
        "0 C#4 .5, .5 C#4 .5, 1 E4 1, 2 A3 .5, 2.5 B3 .5, 3 C#4 1, 4 F#4 .5, 4.5 D4 2",
    ),
    phrase(
        22,
        "scratch and hiss before the chorus broke",
        "0 D4 1, 1 D4 .5, 1.5 F#4 .9, 2.5 E4 .5, 3 D4 .5, 3.5 C#4 .5, 4 E4 .5, 4.5 G#4 .5, 5 B4 1.5",
    ),
    phrase(32, "Stay", "0 C#5 5"),
)
_REFRAIN = (
    phrase(
        0,
        "So stay, stay past the breakwater",
        "-.5 E4 .5, 0 A4 1.7, 2 A4 1, 3 F#4 .5, 3.5 G#4 .5, 4 C#5 1, 5 B4 .5, 5.5 A4 1.6",
    ),
    phrase(
        2,
        "let the last song spin again",
        "0 G#4 .5, .5 G#4 .5, 1 B4 1, 2 A4 1, 3 G#4 1, 4 F#4 .5, 4.5 A4 2.2",
    ),
    phrase(
        4,
        "Stay, stay past the breakwater",
        "0 A4 1.7, 2 B4 1, 3 A4 .5, 3.5 B4 .5, 4 C#5 1, 5 E5 .5, 5.5 C#5 1.6",
    ),
    phrase(
        6,
        "quarter past and it starts to rain",
        "0 D5 .5, .5 C#5 .5, 1 B4 1, 2 A4 .5, 2.5 A4 .5, 3 B4 1, 4 G#4 .5, 4.5 B4 2.4",
    ),
)
_SCALE = (9, 11, 1, 2, 4, 6, 8)


def refrain(bar: int) -> tuple[Phrase, ...]:
    """Return the lines of the chorus that starts at a bar."""
    return tuple(replace(line, bar=line.bar + bar) for line in _REFRAIN)


def harmony(lines: tuple[Phrase, ...], steps: int) -> tuple[Phrase, ...]:
    """Return the lines moved by steps of the A major scale."""
    ladder = [key for key in range(40, 100) if key % 12 in _SCALE]
    return tuple(
        replace(
            line,
            notes=tuple(replace(n, key=ladder[ladder.index(n.key) + steps]) for n in line.notes),
        )
        for line in lines
    )


def _chords(first: int, bars: int, table: dict[str, Shape], *patterns: str) -> list[BarOfChord]:
    """The song's chords over a stretch, with patterns repeated in turn."""
    shapes = shapes_by_name(table, _NAMES)[first : first + bars]
    return [BarOfChord(first + n, shape, patterns[n % len(patterns)]) for n, shape in enumerate(shapes)]


def _both_choruses(*patterns: str) -> list[tuple[int, str]]:
    """A drum pattern over both choruses."""
    return over_bars(CHORUS, 8, *patterns) + over_bars(CHORUS_TWO, 8, *patterns)


def drums() -> dict[str, list[Note]]:
    """Return the strokes of every drum by name."""
    kick = [
        *over_bars(0, 4, "o....... o.......", "o....... o.....-."),
        *over_bars(VERSE, 7, "x.....o. x.......", "x.....o. x.o....."),
        (11, "x.....o. x...x..."),
        *_both_choruses("X.....x. ..x.....", "X..x..x. ..x...x.")[:-1],
        (31, "X.....x. ..x...x."),
        *over_bars(VERSE_TWO, 3, "x....... ..o....."),
        (23, "x.....x. x.x.x.x."),
        (32, "x"),
    ]
    snare = [
        (3, "........ ..g.-.o."),
        *over_bars(VERSE, 7, "....x..g .g..x...", "....x..g .g..x..g"),
        (11, "....x..g o.ooxoxx"),
        *over_bars(CHORUS, 7, "....X... ....X...", "....X..g ....X..g"),
        (19, "....X... ....X.xx"),
        *over_bars(VERSE_TWO, 3, "....o..g .g..o..."),
        (23, "....o... g-oo xoxx"),
        (24, "....X... ....X..."),
        (25, "....x..g ....X..g"),
        *over_bars(CHORUS_TWO + 2, 5, "....X... ....X...", "....X..g ....X..g"),
        (31, "....X... x.o.xoox"),
        (32, "-"),
    ]
    closed = [
        *over_bars(2, 2, "o.-.o.-.o.-.o.-."),
        *over_bars(VERSE, 8, "x.-.o.-.x.-.o.-.", "x.-.o.--x.-.o..."),
        *over_bars(VERSE_TWO, 4, "o.-.o.-.o.-.o.-."),
    ]
    opened = [(5, "..............o."), (9, "..............o."), *_both_choruses("o...o...o...o...")]
    return {
        "kick": strike(kick, KICK, TIMELINE, _STEADY, SEED, "kick"),
        "snare": strike(snare, SNARE, TIMELINE, _LAID_BACK, SEED, "snare"),
        "closed hat": strike(closed, CLOSED_HAT, TIMELINE, _LOOSE, SEED, "closed hat"),
        "open hat": strike(opened, OPEN_HAT, TIMELINE, _LOOSE, SEED, "open hat"),
        "ride": strike(_both_choruses("..x...x...x...x."), RIDE, TIMELINE, _LOOSE, SEED, "ride"),
        "crash": _crashes(),
        "toms": _toms(),
        "tambourine": strike(_both_choruses("-.-.x.-.-.-.x.-."), TAMBOURINE, TIMELINE, _LOOSE, SEED, "tambourine"),
        "shaker": strike(
            [*over_bars(VERSE + 4, 4, "o---o---o---o---"), *_both_choruses("xo-ox-o-xo-ox-o-")],
            CLOSED_HAT,
            TIMELINE,
            _LOOSE,
            SEED,
            "shaker",
        ),
    }


def _crashes() -> list[Note]:
    """Crashes on the larger corners of the form."""
    first = [(0, "-"), (VERSE, "o"), (CHORUS, "X"), (CHORUS + 6, "x"), (CHORUS_TWO, "X"), (ENDING, "X")]
    second = [(CHORUS + 4, "x"), (VERSE_TWO, "x"), (CHORUS_TWO + 4, "X"), (ENDING, "x")]
    return strike(first, CRASH, TIMELINE, _STEADY, SEED, "crash") + strike(
        second, CRASH_TWO, TIMELINE, _STEADY, SEED, "second crash"
    )


def _toms() -> list[Note]:
    """Tom strokes of the fills."""
    fills = (
        (TOM_HIGH, [(19, "........ x.x....."), (31, "........ .x......")]),
        (TOM_MID, [(11, "........ .x......"), (19, "........ ..x.x..."), (31, "........ ...x....")]),
        (TOM_LOW, [(3, "............ ..x."), (23, "........ ......x."), (19, "............ ..xx")]),
    )
    return [note for key, bars in fills for note in strike(bars, key, TIMELINE, _STEADY, SEED, f"tom {key}")]


def bass() -> list[Note]:
    """Return the bass: with the kick in the verses, eighths in the choruses."""
    names = _NAMES.split()
    verse = ("0.....0.0......1", "0.....0.0.0...1.")
    chorus = ("0.0.0.0.0.0.0.0.", "0.0.0.0.0.0.0.1.")
    plan = [
        *over_bars(2, 2, "0..............."),
        *over_bars(VERSE, 8, *verse),
        *over_bars(CHORUS, 8, *chorus),
        *over_bars(VERSE_TWO, 3, "0.........0....."),
        (23, "0.....0.0.0.0.0."),
        *over_bars(CHORUS_TWO, 8, *chorus),
        (32, "0" + LAST[1:]),
    ]
    bars = [(bar, (_ROOT[names[bar]], _FIFTH[names[bar]]), pattern) for bar, pattern in plan]
    return bass_line(bars, TIMELINE, SEED, "bass")


def crunch(table_name: str, part: str) -> list[Note]:
    """Return a distorted guitar; two are played, ``low`` and ``high``, each by its own hand."""
    table = _POWER if table_name == "low" else _HIGH
    chorus = ("D.....D...D.D...", "D.....D...D.DmD.")
    muted = ("d.m.m.m.m.m.m.m.", "d.m.m.d.m.m.m.m.")
    bars = [
        *(_chords(VERSE, 8, _POWER, *muted) if table_name == "low" else _chords(VERSE + 4, 4, table, "d" + "." * 15)),
        *_chords(CHORUS, 8, table, *chorus),
        *_chords(22, 2, table, "m.m.m.m.D.D.D.D."),
        *_chords(CHORUS_TWO, 8, table, *chorus),
        *_chords(ENDING, 1, table, LAST),
    ]
    return strum(bars, TIMELINE, Hand(14.0, 5.0, 102, 6.0), SEED, part)


def picked() -> list[Note]:
    """Return the clean picked guitar of the intro and the verses."""
    pattern = ("0.1.2.3.1.2.3.1.", "0.2.1.3.2.1.3.2.")
    bars = [
        *_chords(0, 12, _PICKED, *pattern),
        *_chords(VERSE_TWO, 4, _PICKED, *pattern),
        *_chords(ENDING, 2, _PICKED, "0.1.2.3.1.2.3.1.", "0.2.1.3........."),
    ]
    return strum(bars, TIMELINE, Hand(10.0, 4.0, 92, 7.0), SEED, "picked")


def acoustic(part: str) -> list[Note]:
    """Return a strummed steel-string guitar of the choruses."""
    pattern = ("D...d.u.D.uUd.u.", "D.d.D.uU..uUd.uU")
    bars = [
        *_chords(CHORUS, 8, _OPEN, *pattern),
        *_chords(VERSE_TWO, 4, _OPEN, "D.......D.....u."),
        *_chords(CHORUS_TWO, 8, _OPEN, *pattern),
        *_chords(ENDING, 1, _OPEN, LAST),
    ]
    return strum(bars, TIMELINE, Hand(26.0, 5.0, 94, 8.0), SEED, part)


def organ() -> list[Note]:
    """Return held organ chords under the choruses."""
    held = "D..............."
    bars = [
        *_chords(CHORUS, 8, _ORGAN, held),
        *_chords(CHORUS_TWO, 8, _ORGAN, held),
        *_chords(ENDING, 1, _ORGAN, LAST),
    ]
    return strum(bars, TIMELINE, Hand(6.0, 4.0, 90, 3.0), SEED, "organ")


def keys() -> list[Note]:
    """Return electric piano chords of the verses."""
    bars = [
        *_chords(VERSE, 8, _ORGAN, "d.....d.........", "d.......d.....u."),
        *_chords(VERSE_TWO, 4, _ORGAN, "d.....d........."),
    ]
    return strum(bars, TIMELINE, Hand(9.0, 5.0, 76, 6.0), SEED, "keys")


def hook() -> list[Note]:
    """Return the lead guitar: a short figure in the intro, answers to the voice in the choruses."""
    figures = [(0, "0 C#5 1.5, 1.5 B4 .5, 2 A4 2, 4 F#4 1.5, 5.5 A4 .5, 6 B4 2")]
    figures.append((2, "0 C#5 1.5, 1.5 E5 .5, 2 C#5 1.5, 3.5 A4 .5, 4 B4 3"))
    for chorus in (CHORUS, CHORUS_TWO):
        figures.append((chorus + 1, "3 E5 .5, 3.5 C#5 .5"))
        figures.append((chorus + 3, "2.5 C#5 .5, 3 E5 .5, 3.5 F#5 .5"))
        figures.append((chorus + 5, "3 E5 .5, 3.5 C#5 .5"))
    figures.append((ENDING, "1 E5 1, 2 C#5 1, 3 B4 1, 4 A4 4"))
    notes = []
    for bar, line in figures:
        for sung in phrase(bar, "", line).notes:
            start_s = TIMELINE.at(bar, sung.beat)
            notes.append(Note(start_s, sung.beats * TIMELINE.beat_s * 1.02, sung.key, 104))
    return notes
