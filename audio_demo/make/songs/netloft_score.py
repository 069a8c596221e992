"""Chairs Up at the Net Loft: the score.

The band is still playing when the Harbour Street Record Club sweeps the floor: a trio in D minor,
swung, 120 beats a minute, so that a bar lasts two seconds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ..drumming import CRASH, CRASH_TWO, KICK, PEDAL_HAT, RIDE, SIDE_STICK, SNARE, Feel, over_bars, strike
from ..fretting import Shape, let_ring
from ..score import Note, Section, Timeline, dice, phrase

SEED = 20_263
SECONDS = 73.0
TIMELINE = Timeline(tempo_bpm=120.0, first_downbeat_s=0.2)
SECTIONS = (
    Section("intro", 0, 4),
    Section("verse 1", 4, 8),
    Section("chorus 1", 12, 8),
    Section("verse 2", 20, 4),
    Section("chorus 2", 24, 4),
    Section("ending", 28, 4),
)
VERSE, CHORUS, VERSE_TWO, CHORUS_TWO, ENDING = 4, 12, 20, 24, 28
_TRIPLETS = 3

_FORM = (
    "Dm9 Bb Gm9 Asus | Dm9 Dm9 Bb A7 Gm9 C13 F A7 | Bb C13 Am7 Dm7 Gm9 A7 Dm9 Dm7"
    " | Gm9 C13 F A7 | Bb C13 Am7 A7 | Gm9 Asus Dm9 Dm9"
)
_NAMES = [name for name in _FORM.split() if name != "|"]
# Left hand, without the roots, which are the bass's.
_LEFT: dict[str, Shape] = {
    "Dm9": (53, 57, 60, 64),
    "Dm7": (48, 53, 57, 64),
    "Bb": (50, 53, 57, 60),
    "Gm9": (46, 50, 53, 57),
    "Asus": (50, 52, 55, 59),
    "A7": (49, 53, 55, 58),
    "C13": (46, 52, 57, 62),
    "F": (45, 52, 55, 60),
    "Am7": (48, 52, 55, 59),
}
_THIRD = 0.667

# Right hand: beats from the first bar of the stretch, swung.
_INTRO = (
    "0 A4 2, 2 E5 1.6, 3.667 D5 .4, 4 C5 1.6, 5.667 A4 .4, 6 F4 2, 8.667 Bb4 .4, 9 D5 1.6, 10.667 C5 .4, 11 A4 1,"
    " 12 G4 1.6, 13.667 E4 .4, 14 D4 2"
)
_TUNE = (
    "0 A4 1.6, 1.667 F4 .3, 2 E4 1, 3 D4 .6, 3.667 E4 .3, 4 F4 1.6, 5.667 A4 .3, 6 C5 2,"
    " 8 D5 1, 9 C5 .6, 9.667 A4 .3, 10 Bb4 .6, 10.667 A4 .3, 11 F4 1, 12 G4 1, 13 E4 .6, 13.667 F4 .3, 14 C#4 2,"
    " 16.667 D4 .3, 17 F4 .6, 17.667 A4 .3, 18 Bb4 1.6, 19.667 A4 .3, 20 G4 1, 21 E4 .6, 21.667 D4 .3, 22 Bb4 .6,"
    " 22.667 A4 1.3, 24 G4 .6, 24.667 A4 .3, 25 C5 1.6, 26.667 E5 .3, 27 D5 1, 28 C#5 1, 29 Bb4 .6, 29.667 G4 .3,"
    " 30 E4 1.5"
)
_LIFTED = (
    "0 D5 .6, .667 F5 1, 1.667 D5 .3, 2 C5 .6, 2.667 A4 1.3, 4 E5 .6, 4.667 G5 1, 5.667 E5 .3, 6 D5 .6, 6.667 C5 1.3,"
    " 8 C5 .6, 8.667 E5 .3, 9 G5 1, 10 F5 .6, 10.667 E5 .3, 11 C5 .6, 11.667 D5 1.6, 13.667 A4 .3, 14 F5 1, 15 E5 .6,"
    " 15.667 D5 .3"
)
_ANSWERED = (
    "16 D5 .6, 16.667 F5 1, 17.667 A5 .3, 18 G5 1, 19 F5 .6, 19.667 D5 .3, 20 E5 1, 21 C#5 .6, 21.667 E5 .3, 22 G5 .6,"
    " 22.667 F5 1, 23.667 E5 .3, 24 F5 .6, 24.667 A5 1.6, 26.667 F5 .3, 27 E5 .6, 27.667 D5 .3, 28 A4 1, 29 C5 .6,"
    " 29.667 E5 .3, 30 D5 1.6"
)
_LAST = "0 D5 2, 2.667 Bb4 .3, 3 A4 1, 4 G4 1.6, 5.667 E4 .3, 6 D4 2, 8 A4 8, 9.333 E5 6.6, 10.667 F5 5.2, 13 D6 3"

_TWO_FEEL = (
    "0 D2 1.9, 2 A1 1.8, 4 C2 1.9, 6 A1 1.2, 7.667 A1 .3, 8 Bb1 1.9, 10 F2 1.8, 12 A1 1.9, 14 E2 1.2, 15.667 G#1 .3,"
    " 16 G1 1.9, 18 D2 1.8, 20 C2 1.9, 22 G1 1.2, 23.667 E1 .3, 24 F1 1.9, 26 C2 1.8, 28 A1 1.9, 30 C#2 .9, 31 D2 .9"
)
_SUNG_BASS = (
    "0 G2 .6, .667 Bb2 .3, 1 D3 .6, 1.667 F3 .3, 2 A3 1, 3 F3 .6, 3.667 D3 .3, 4 E3 1, 5 C3 .6, 5.667 Bb2 .3, 6 A2 .6,"
    " 6.667 G2 1.2, 8 F2 .6, 8.667 A2 .3, 9 C3 .6, 9.667 E3 .3, 10 G3 1.6, 11.667 E3 .3, 12 C#3 .9, 13 G2 .6,"
    " 13.667 F2 .3, 14 E2 .9, 15 A1 .9"
)
# A walking bar for each chord of the choruses, four keys each.
_WALK = (
    (34, 38, 41, 35),
    (36, 40, 43, 46),
    (45, 43, 40, 37),
    (38, 41, 45, 44),
    (43, 41, 38, 34),
    (33, 37, 40, 39),
    (38, 36, 34, 33),
    (38, 41, 40, 36),
)
_WALK_TWO = (*_WALK[:3], (33, 37, 40, 33))

_STEADY = Feel(spread_ms=4.0, late_ms=0.0, velocity_spread=6.0)
_LIGHT = Feel(spread_ms=5.0, late_ms=3.0, velocity_spread=7.0)


def _melody(bar: int, line: str, velocity: int, part: str) -> list[Note]:
    """A written line with a hand: the higher the louder, off beats lighter, nothing quite even."""
    rng = dice(SEED, part)
    notes = []
    for sung in phrase(bar, "", line).notes:
        accent = 0.35 * (sung.key - 70) - (5.0 if sung.beat % 1.0 > 0.5 else 0.0)
        level = velocity + accent + rng.normal(0.0, 4.0)
        start_s = TIMELINE.at(bar, sung.beat) + rng.normal(0.004, 0.006)
        notes.append(
            Note(float(max(0.0, start_s)), sung.beats * TIMELINE.beat_s, sung.key, int(np.clip(level, 18, 125)))
        )
    return notes


def _chords(first: int, hits: Sequence[Sequence[tuple[float, float]]], bars: int, velocity: int) -> list[Note]:
    """Left-hand chords: each bar takes the next list of (beat, beats)."""
    rng = dice(SEED, f"left hand {first}")
    notes = []
    for n in range(bars):
        for beat, beats in hits[n % len(hits)]:
            start_s = TIMELINE.at(first + n, beat) + rng.normal(0.0, 0.006)
            for number, key in enumerate(_LEFT[_NAMES[first + n]]):
                begin_s = float(max(0.0, start_s + 0.007 * number * rng.uniform(0.5, 1.5)))
                level = int(np.clip(velocity + rng.normal(0.0, 5.0), 15, 120))
                notes.append(Note(begin_s, beats * TIMELINE.beat_s, key, level))
    return notes


def _octaves(notes: Sequence[Note]) -> list[Note]:
    """The notes with their lower octave."""
    return [*notes, *(replace(note, key=note.key - 12, velocity=max(20, note.velocity - 6)) for note in notes)]


def pedals_s() -> list[float]:
    """Return the changes of the right pedal: each bar of the quiet parts."""
    quiet = [*range(0, CHORUS), *range(VERSE_TWO, CHORUS_TWO), *range(ENDING, ENDING + 3)]
    return [TIMELINE.at(bar) for bar in quiet]


def piano() -> list[Note]:
    """Return both hands of the piano."""
    held, short = (((0.0, 3.9),),), (((0.0, 0.5), (1 + _THIRD, 1.2)), ((_THIRD, 0.4), (2.0, 0.9), (3 + _THIRD, 0.6)))
    comping = (((0.0, 1.6), (2 + _THIRD, 1.2)), ((1.0, 2.6),))
    quiet = [
        *_melody(0, _INTRO, 50, "intro"),
        *_chords(0, held, 4, 38),
        *_melody(VERSE, _TUNE, 66, "tune"),
        *_chords(VERSE, comping, 8, 50),
        *_chords(VERSE_TWO, (((_THIRD, 1.0),), ((1 + _THIRD, 2.0),)), 4, 42),
        *_melody(ENDING, _LAST, 44, "last"),
        *_chords(ENDING, held, 2, 36),
    ]
    rolled = [Note(TIMELINE.at(ENDING + 2) + 0.05 * n, 12.5, key, 40) for n, key in enumerate((38, 45, 53, 57, 60))]
    loud = [
        *_octaves(_melody(CHORUS, f"{_LIFTED}, {_ANSWERED}", 102, "lifted")),
        *_chords(CHORUS, short, 8, 88),
        *_octaves(_melody(CHORUS_TWO, _LIFTED, 112, "lifted again")),
        *_chords(CHORUS_TWO, short, 4, 98),
    ]
    return [*let_ring(quiet, [*pedals_s(), TIMELINE.at(CHORUS), TIMELINE.at(CHORUS_TWO), SECONDS]), *rolled, *loud]


def bass() -> list[Note]:
    """Return the plucked bass: in two, walking, alone, walking."""
    walk = ", ".join(f"{4 * bar + beat} {key} 0.93" for bar, keys in enumerate(_WALK) for beat, key in enumerate(keys))
    again = ", ".join(f"{4 * n + beat} {key} 0.93" for n, keys in enumerate(_WALK_TWO) for beat, key in enumerate(keys))
    return [
        *_melody(VERSE, _TWO_FEEL, 92, "two feel"),
        *_walked(CHORUS, walk, 104),
        *_melody(VERSE_TWO, _SUNG_BASS, 100, "sung bass"),
        *_walked(CHORUS_TWO, again, 110),
        *_melody(ENDING, "0 G1 3.8, 4 A1 3.6, 8 D2 7", 84, "last bass"),
    ]


def _walked(bar: int, line: str, velocity: int) -> list[Note]:
    """A walking line of ``beat key beats``, a little ahead of the beat."""
    rng = dice(SEED, f"walk {bar}")
    notes = []
    for item in line.split(", "):
        beat, key, beats = item.split()
        start_s = TIMELINE.at(bar, float(beat)) + rng.normal(-0.004, 0.005)
        level = velocity + (4.0 if float(beat) % 2.0 == 1.0 else 0.0) + rng.normal(0.0, 4.0)
        notes.append(Note(float(start_s), float(beats) * TIMELINE.beat_s, int(key), int(np.clip(level, 60, 126))))
    return notes


def _struck(patterns: Sequence[tuple[int, str]], key: int, feel: Feel, part: str) -> list[Note]:
    return strike(patterns, key, TIMELINE, feel, SEED, part, steps_per_beat=_TRIPLETS)


def drums() -> dict[str, list[Note]]:
    """Return the strokes of the kit: brushes in the verses, sticks in the choruses."""
    brush = [
        *over_bars(2, 2, "......g..-..", "-..g..g..-.g"),
        *over_bars(VERSE, 7, "g..o.gg..o.-", "g..o..-.go.g"),
        (CHORUS - 1, "g..o.go.ox.x"),
        *over_bars(VERSE_TWO, 3, "g..-..g..-.g"),
        (CHORUS_TWO - 1, "g..-.oo.xx.x"),
        (ENDING, "g..-..g..-.."),
        (ENDING + 1, "g..-..g....."),
    ]
    ride = [
        *over_bars(CHORUS, 8, "x..X.ox..X.o", "x..X.ox.oX.."),
        *over_bars(CHORUS_TWO, 4, "X..X.xX..X.x", "X..X.xX.xX.x"),
        (ENDING, "o"),
        (ENDING + 2, "-"),
    ]
    snare = [
        *over_bars(CHORUS, 7, "..g..o..g..g", ".....g.o...o", "..o..g...g.x", "....g..o.g.."),
        (CHORUS + 7, "..o.xo.xoxxX"),
        *over_bars(CHORUS_TWO, 3, "..g..x..g..x", ".o...g.x...x"),
        (CHORUS_TWO + 3, "x.xx.xxoxXxX"),
    ]
    kick = [
        *over_bars(VERSE, 8, "-.....g....."),
        *over_bars(CHORUS, 8, "-..g..-..g.o", "-..g.x-..g..", "-..g..-.og..", "o..g..-..g.x"),
        *over_bars(CHORUS_TWO, 4, "x..-..o..-.x", "o..-.xo..-.x"),
        (ENDING, "-"),
    ]
    hat = [
        *over_bars(VERSE, 8, "...-.....-.."),
        *over_bars(CHORUS, 8, "...x.....x.."),
        *over_bars(VERSE_TWO, 4, "...g.....g.."),
    ]
    hat += over_bars(CHORUS_TWO, 4, "...x.....x..")
    return {
        "kick": _struck(kick, KICK, _STEADY, "kick"),
        "brush": _struck(brush, SNARE, _LIGHT, "brush"),
        "snare": _struck(snare, SNARE, _LIGHT, "snare"),
        "cross stick": _struck(
            over_bars(VERSE_TWO, 4, ".........g..", "...g.....-.."), SIDE_STICK, _LIGHT, "cross stick"
        ),
        "ride": _struck(ride, RIDE, _STEADY, "ride"),
        "pedal hat": _struck(hat, PEDAL_HAT, _STEADY, "pedal hat"),
        "crash": _struck([(CHORUS, "x"), (CHORUS_TWO, "X")], CRASH, _STEADY, "crash")
        + _struck([(CHORUS + 4, "o"), (ENDING, "o")], CRASH_TWO, _STEADY, "second crash"),
    }


def sweeps() -> list[tuple[float, float, float]]:
    """Return the circles of the stirring brush in the quiet parts, two beats each."""
    bars = [*range(2, CHORUS), *range(VERSE_TWO, CHORUS_TWO), ENDING, ENDING + 1]
    half_s = 2.0 * TIMELINE.beat_s
    return [
        (TIMELINE.at(bar, 2.0 * half) - 0.05, 1.05 * half_s, 1.0 if bar < ENDING else 0.6)
        for bar in bars
        for half in range(2)
    ]
