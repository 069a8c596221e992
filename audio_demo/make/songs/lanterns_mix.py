"""Nine Lanterns on the Slipway: the players and the mix."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..air import with_air
from ..brushwork import play_soft_kit, stirring
from ..desk import Return, Strip, echo, isolated, mix
from ..dynamics import Compressor, tame
from ..filters import bell, high_cut, high_shelf, low_cut, low_shelf
from ..fingering import fingertips, knocks, squeaks
from ..noises import widened
from ..players import FINGERED_BASS, SLOW_STRINGS, STRINGS, beside, steel_guitar, with_pick
from ..reverb import HALL, PLATE, ROOM
from ..score import Note, dice
from ..signal import Audio, mono
from ..singing import Take, sing
from ..song import Song, Stem
from ..soundfont import play
from ..speech import Speaker
from . import lanterns_score as score
from .ferryman import SONG as FERRYMAN

_SECONDS, _SEED, _TIME = score.SECONDS, score.SEED, score.TIMELINE
_SIBILANTS = Compressor(9.0, 3.0, 0.5, 40.0)
_SINGER = Speaker("en-us+m3", 105, 30)
_REFRAINS = (*score.refrain(score.CHORUS), *score.refrain(score.CHORUS_TWO))


def _guitar(notes: Sequence[Note], part: str, cents: float) -> Audio:
    """A steel-string guitar near a microphone: pick, hand on the wood, fingers that slide."""
    dry = steel_guitar(notes, _SECONDS, cents)
    picked = with_pick(dry, notes, _SEED, part, -11.0)
    wood = knocks(notes, len(dry), dice(_SEED, f"{part} wood"))
    slides = squeaks(score.changes_s()[:-1], len(dry), dice(_SEED, f"{part} squeaks"), share=0.45)
    airy = with_air(
        picked,
        dice(_SEED, f"{part} air"),
        above_hz=2500.0,
        bands=(low_cut(7000.0), high_cut(17000.0)),
        level_db=-17.0,
    )
    return beside(beside(airy, wood, -17.0), slides, -21.0)


def _voices() -> dict[str, Audio]:
    """The lead voice, two doubles in the choruses and a harmony in the last."""
    above = score.harmony(score.refrain(score.CHORUS_TWO), 2)
    left = Take(_SINGER, _SEED + 2, cents=-7.0, late_ms=16.0, formant=0.97, vibrato_cents=15.0)
    right = Take(_SINGER, _SEED + 3, cents=6.0, late_ms=-8.0, formant=1.04, vibrato_cents=17.0)
    other = Take(_SINGER, _SEED + 4, cents=2.0, late_ms=9.0, formant=1.07, breath=1.7)
    voices = {
        "voice": sing((*score.LEAD, *_REFRAINS), _TIME, Take(_SINGER, _SEED + 1, breath=1.3), _SECONDS),
        "double left": sing(_REFRAINS, _TIME, left, _SECONDS),
        "double right": sing(_REFRAINS, _TIME, right, _SECONDS),
        "harmony": sing(above, _TIME, other, _SECONDS),
    }
    return {name: tame(voice, 4500.0, _SIBILANTS) for name, voice in voices.items()}


def _strings() -> dict[str, Audio]:
    """Low and high strings with the hair of the bow above the sound font's top."""
    low = play(score.bowed((0, 1)), program=STRINGS, seconds=_SECONDS)
    high = play(score.bowed((2, 3, 4)), program=SLOW_STRINGS, seconds=_SECONDS)
    bow = (low_cut(5000.0), high_cut(14000.0))
    return {
        "low strings": low,
        "high strings": with_air(high, dice(_SEED, "bow"), above_hz=1200.0, bands=bow, level_db=-13.0),
    }


def _bass() -> Audio:
    notes = score.bass()
    dry = mono(play(notes, program=FINGERED_BASS, seconds=_SECONDS))
    return beside(dry, fingertips(notes, len(dry), dice(_SEED, "bass fingers")), -20.0)


def perform() -> dict[str, Audio]:
    """Return every dry part of the song."""
    stems = play_soft_kit(score.drums(), _SECONDS, _SEED)
    stems |= _voices() | _strings()
    stems["stirring"] = stirring(score.sweeps(), _SECONDS, dice(_SEED, "stirring"))
    stems["bass"] = _bass()
    stems["first guitar"] = widened(
        _guitar(score.first_guitar(), "first guitar", -2.0), dice(_SEED, "first body"), amount=0.3
    )
    stems["second guitar"] = widened(
        _guitar(score.second_guitar(), "second guitar", 3.0), dice(_SEED, "second body"), amount=0.3
    )
    stems["voice echo"] = echo(stems["voice"], 400.0, 3, -6.0, (low_cut(350.0), high_cut(3800.0)))
    return stems


_VERSE_S = (_TIME.at(score.VERSE), _TIME.at(score.CHORUS))
_VERSE_TWO_S = (_TIME.at(score.VERSE_TWO), _TIME.at(score.CHORUS_TWO))
_CHORUS_TWO_S = (_TIME.at(score.CHORUS_TWO), _TIME.at(score.ENDING - 1))
_CALM = Compressor(14.0, 2.5, 12.0, 160.0)
_SOFTENED = Compressor(16.0, 3.0, 0.5, 70.0)
_FIRM = Compressor(16.0, 3.0, 6.0, 180.0)


def _rides(
    verse_db: float, chorus_two_db: float, ending_db: float = -4.0, verse_two_db: float | None = None
) -> tuple[tuple[float, float], ...]:
    """Levels of the sections against the first chorus, changed in the half second before the bar."""
    second = verse_db if verse_two_db is None else verse_two_db
    points: list[tuple[float, float]] = [(0.0, verse_db)]
    for bar, before_db, after_db in (
        (score.CHORUS, verse_db, 0.0),
        (score.VERSE_TWO, 0.0, second),
        (score.CHORUS_TWO, second, chorus_two_db),
        (score.ENDING, chorus_two_db, ending_db),
    ):
        points += [(_TIME.at(bar) - 0.5, before_db), (_TIME.at(bar) - 0.02, after_db)]
    return tuple(points)


# Strings grow into each chorus and within it.
_SWELL = (
    (_TIME.at(score.CHORUS), -7.0),
    (_TIME.at(score.CHORUS + 2), -1.0),
    (_TIME.at(score.VERSE_TWO), 1.0),
    (_TIME.at(score.CHORUS_TWO), -1.0),
    (_TIME.at(score.CHORUS_TWO + 4), 3.5),
    (_TIME.at(score.ENDING - 1, 2), 3.0),
    (_TIME.at(score.ENDING), -3.0),
    (_TIME.at(score.ENDING + 2), -9.0),
)

# The fader goes down behind the last consonant, so that nothing but the plate follows it.
_CLOSED = ((score.LAST_NOTE_S + 0.235, -4.0), (score.LAST_NOTE_S + 0.265, -70.0))

STRIPS = (
    Strip(
        "kick",
        -27.0,
        width=0.3,
        level_window_s=_CHORUS_TWO_S,
        before=(low_cut(35.0), bell(300.0, -4.0, 1.0), low_shelf(90.0, 2.0)),
        compressors=(_SOFTENED,),
        sends_db={"room": -14.0},
    ),
    Strip(
        "brush",
        -28.5,
        pan=-0.06,
        width=0.8,
        level_window_s=_CHORUS_TWO_S,
        before=(low_cut(110.0), bell(420.0, -3.0, 1.2), bell(3000.0, 2.5, 0.8)),
        compressors=(_SOFTENED,),
        sends_db={"room": -8.0, "plate": -14.0},
    ),
    Strip(
        "stirring",
        -37.0,
        width=0.9,
        level_window_s=_VERSE_TWO_S,
        before=(low_cut(500.0), high_shelf(9000.0, -2.0)),
        sends_db={"room": -12.0},
    ),
    Strip("cross stick", -35.0, pan=0.12, width=0.6, level_window_s=_CHORUS_TWO_S, sends_db={"plate": -6.0}),
    Strip(
        "shaker",
        -39.0,
        pan=0.45,
        width=0.8,
        level_window_s=_CHORUS_TWO_S,
        before=(low_cut(2200.0), high_shelf(12000.0, -1.0)),
        sends_db={"room": -14.0},
    ),
    Strip("ride", -39.0, pan=-0.35, width=0.7, level_window_s=_CHORUS_TWO_S, before=(low_cut(400.0),)),
    Strip(
        "pedal hat",
        -42.0,
        pan=0.3,
        width=0.6,
        level_window_s=_VERSE_TWO_S,
        before=(low_cut(400.0),),
        sends_db={"room": -10.0},
    ),
    Strip("swell cymbal", -36.0, level_window_s=_CHORUS_TWO_S, before=(low_cut(350.0),), sends_db={"hall": -14.0}),
    Strip(
        "bass",
        -23.5,
        before=(low_cut(32.0), low_shelf(95.0, 4.0), bell(250.0, -2.5, 1.0)),
        compressors=(_FIRM,),
        after=(bell(800.0, 2.0, 0.9), high_cut(6000.0)),
        ducked_by="kick",
        duck_db=1.5,
        rides=_rides(-1.5, 1.0),
    ),
    Strip(
        "first guitar",
        -25.0,
        pan=-0.62,
        before=(low_cut(85.0), bell(210.0, -3.0, 0.9), bell(3500.0, 1.5, 0.7), high_shelf(8000.0, 2.5)),
        compressors=(Compressor(13.0, 2.5, 9.0, 140.0),),
        sends_db={"room": -12.0, "plate": -17.0},
        rides=_rides(0.5, -0.5, -1.0),
    ),
    Strip(
        "second guitar",
        -26.0,
        pan=0.66,
        before=(low_cut(110.0), bell(240.0, -2.0, 0.9), bell(2600.0, 1.0, 0.8), high_shelf(8000.0, 2.5)),
        compressors=(Compressor(13.0, 2.5, 9.0, 140.0),),
        sends_db={"room": -12.0, "plate": -16.0},
        rides=_rides(0.5, 0.0, -2.0),
    ),
    Strip(
        "low strings",
        -30.0,
        pan=0.2,
        width=1.0,
        before=(low_cut(75.0), bell(350.0, -2.0, 0.8)),
        sends_db={"hall": -9.0},
        rides=_SWELL,
    ),
    Strip(
        "high strings",
        -28.5,
        pan=-0.1,
        width=1.3,
        before=(low_cut(180.0), bell(2500.0, -2.0, 0.8), high_shelf(5000.0, 3.0)),
        sends_db={"hall": -7.0},
        rides=_SWELL,
    ),
    Strip(
        "voice",
        -20.5,
        before=(low_cut(85.0), bell(330.0, -3.0, 1.0), bell(3000.0, -3.0, 0.6)),
        compressors=(Compressor(10.0, 3.0, 3.0, 70.0), _CALM),
        after=(high_shelf(9000.0, 2.0),),
        sends_db={"plate": -11.0, "room": -20.0},
        rides=(*_rides(-3.0, 1.0, -4.0), *_CLOSED),
    ),
    Strip(
        "double left",
        -33.0,
        pan=-0.4,
        before=(low_cut(160.0), bell(3200.0, -4.0, 0.6)),
        compressors=(_FIRM,),
        sends_db={"plate": -10.0},
        rides=_rides(0.0, 1.0),
    ),
    Strip(
        "double right",
        -33.0,
        pan=0.4,
        before=(low_cut(160.0), bell(3200.0, -4.0, 0.6)),
        compressors=(_FIRM,),
        sends_db={"plate": -10.0},
        rides=_rides(0.0, 1.0),
    ),
    Strip(
        "harmony",
        -28.5,
        pan=0.18,
        level_window_s=_CHORUS_TWO_S,
        before=(low_cut(180.0), bell(3000.0, -4.0, 0.6)),
        compressors=(_FIRM,),
        sends_db={"plate": -9.0},
    ),
    Strip("voice echo", -40.0, sends_db={"hall": -12.0}),
)

RETURNS = {
    "room": Return(ROOM, (low_cut(110.0), high_shelf(5000.0, -3.0))),
    "plate": Return(PLATE, (low_cut(220.0), bell(500.0, -1.0, 0.8), high_shelf(6000.0, -1.5))),
    "hall": Return(HALL, (low_cut(220.0), high_cut(8500.0))),
}
BUS = (low_shelf(110.0, 2.5),)
_SUNG = ("voice", "double left", "double right", "harmony", "voice echo")


def combine(stems: Mapping[str, Audio]) -> dict[str, Audio]:
    """Return every strip and space as it goes to the sum."""
    return mix(stems, STRIPS, RETURNS, BUS, (_TIME.at(score.CHORUS), _TIME.at(score.VERSE_TWO)), _SEED)


def isolate(tracks: Mapping[str, Audio], names: Sequence[str]) -> Audio:
    """Return what some strips add to the sum."""
    return isolated(tracks, names, STRIPS, RETURNS, _SEED)


SONG = Song(
    slug="nine_lanterns_on_the_slipway",
    title="Nine Lanterns on the Slipway",
    style="slow ballad for a voice and steel-string guitars",
    key="G major",
    timeline=_TIME,
    sections=score.SECTIONS,
    seed=_SEED,
    perform=perform,
    combine=combine,
    sources={
        "guitars, bass, strings": "FluidR3 GM sound font (MIT), with own pick, wood, squeaks, fingertips and air",
        "soft drums": "FluidR3 GM sound font (MIT), kits 32 and 40, layered with own synthesis",
        "voice": "espeak-ng, voice en-us+m3, set to pitch and time by own code; words and tune are own",
        "stirring brush, shaker, cymbal layers": "own synthesis from noise and sines",
        "rooms": "own impulse responses, made of noise",
        "song": "words, tune, chords, arrangement and mix made for this project",
    },
    traits=("voice", "sparse start"),
    windows={"loudness_range_lu": (5.0, 14.0), "chorus_over_verse_lu": (2.0, 9.0)},
    stems=(Stem("voice", _SUNG, bits=13), Stem("bass", ("bass",), bits=13)),
    isolate=isolate,
    reference=FERRYMAN,
)
