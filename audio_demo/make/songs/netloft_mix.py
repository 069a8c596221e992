"""Chairs Up at the Net Loft: the players and the mix."""

from __future__ import annotations

from collections.abc import Mapping

from ..brushwork import play_soft_kit, stirring
from ..desk import Return, Strip, mix
from ..dynamics import Compressor
from ..filters import bell, high_cut, high_shelf, low_cut, low_shelf
from ..fingering import fingertips
from ..hammers import grand_piano
from ..players import UPRIGHT_BASS, beside
from ..reverb import ROOM, Space
from ..score import dice
from ..signal import Audio, mono
from ..song import Song
from ..soundfont import play
from . import netloft_score as score

_SECONDS, _SEED, _TIME = score.SECONDS, score.SEED, score.TIMELINE
# A loft with a wooden roof: early reflections close together, a tail of two seconds.
LOFT = Space((1.5, 1.8, 1.95, 1.85, 1.6, 1.2, 0.75), 16.0, 10.0, 26, 52.0, -1.0)


def _bass() -> Audio:
    """A plucked double bass: the string, and the fingertip that leaves it."""
    notes = score.bass()
    dry = mono(play(notes, program=UPRIGHT_BASS, seconds=_SECONDS))
    return beside(dry, fingertips(notes, len(dry), dice(_SEED, "bass fingers")), -15.0)


def perform() -> dict[str, Audio]:
    """Return every dry part of the song."""
    stems = play_soft_kit(score.drums(), _SECONDS, _SEED)
    stems["stirring"] = stirring(score.sweeps(), _SECONDS, dice(_SEED, "stirring"))
    stems["bass"] = _bass()
    stems["piano"] = grand_piano(score.piano(), score.pedals_s(), _SECONDS, _SEED, "piano")
    return stems


_VERSE_S = (_TIME.at(score.VERSE), _TIME.at(score.CHORUS))
_VERSE_TWO_S = (_TIME.at(score.VERSE_TWO), _TIME.at(score.CHORUS_TWO))
_CHORUS_S = (_TIME.at(score.CHORUS), _TIME.at(score.VERSE_TWO))
_EVEN = Compressor(14.0, 2.0, 10.0, 150.0)
_CAUGHT = Compressor(14.0, 2.5, 0.5, 80.0)

STRIPS = (
    Strip(
        "kick",
        -32.5,
        pan=0.08,
        width=0.4,
        before=(low_cut(35.0), bell(300.0, -3.0, 1.0)),
        compressors=(_CAUGHT,),
        sends_db={"room": -12.0, "loft": -20.0},
    ),
    Strip(
        "snare",
        -29.5,
        pan=0.1,
        width=0.8,
        before=(low_cut(110.0), bell(2800.0, 2.0, 0.8)),
        compressors=(_CAUGHT,),
        sends_db={"room": -9.0, "loft": -14.0},
    ),
    Strip(
        "brush",
        -37.0,
        pan=0.1,
        width=0.8,
        level_window_s=_VERSE_S,
        before=(low_cut(120.0), bell(3000.0, 2.0, 0.8)),
        compressors=(_CAUGHT,),
        sends_db={"room": -9.0, "loft": -14.0},
    ),
    Strip(
        "stirring",
        -43.0,
        pan=0.06,
        width=0.9,
        level_window_s=_VERSE_S,
        before=(low_cut(600.0),),
        sends_db={"room": -12.0},
    ),
    Strip(
        "cross stick",
        -43.0,
        pan=0.2,
        width=0.6,
        level_window_s=_VERSE_TWO_S,
        before=(low_cut(250.0),),
        sends_db={"room": -8.0, "loft": -8.0},
    ),
    Strip(
        "ride",
        -34.0,
        pan=0.42,
        width=0.8,
        before=(low_cut(350.0), bell(5200.0, -2.0, 0.8)),
        sends_db={"room": -14.0, "loft": -18.0},
    ),
    Strip(
        "pedal hat",
        -39.0,
        pan=-0.28,
        width=0.6,
        before=(low_cut(400.0),),
        sends_db={"room": -12.0, "loft": -16.0},
    ),
    Strip(
        "crash",
        -36.0,
        pan=-0.2,
        width=1.1,
        before=(low_cut(350.0), high_shelf(9000.0, -1.0)),
        sends_db={"loft": -14.0},
    ),
    Strip(
        "bass",
        -23.0,
        pan=-0.05,
        before=(low_cut(34.0), low_shelf(90.0, 2.0), bell(230.0, -2.0, 1.0), high_shelf(1500.0, 4.0)),
        compressors=(_EVEN,),
        after=(bell(900.0, 2.0, 0.9),),
        sends_db={"room": -17.0, "loft": -24.0},
        rides=(
            (_TIME.at(score.CHORUS) - 0.3, -2.0),
            (_TIME.at(score.CHORUS), 0.0),
            (_TIME.at(score.VERSE_TWO) - 0.3, 0.0),
            (_TIME.at(score.VERSE_TWO), -2.0),
            (_TIME.at(score.CHORUS_TWO) - 0.3, -2.0),
            (_TIME.at(score.CHORUS_TWO), 1.0),
            (_TIME.at(score.ENDING) - 0.1, 1.0),
            (_TIME.at(score.ENDING), -5.0),
            (_TIME.at(score.ENDING + 2), -8.0),
            (_TIME.at(score.ENDING + 4), -16.0),
        ),
    ),
    Strip(
        "piano",
        -19.0,
        pan=-0.08,
        before=(low_cut(45.0), bell(260.0, -2.0, 0.9), bell(1000.0, 2.0, 0.8), high_shelf(8000.0, 2.0)),
        compressors=(Compressor(8.0, 2.0, 2.0, 120.0),),
        sends_db={"room": -13.0, "loft": -13.0},
        rides=(
            (0.0, 7.0),
            (_TIME.at(score.VERSE), 6.0),
            (_TIME.at(score.CHORUS) - 0.4, 4.5),
            (_TIME.at(score.CHORUS) - 0.05, 0.0),
            (_TIME.at(score.VERSE_TWO) - 0.1, 0.0),
            (_TIME.at(score.VERSE_TWO) + 0.4, 6.0),
            (_TIME.at(score.CHORUS_TWO) - 0.4, 5.0),
            (_TIME.at(score.CHORUS_TWO) - 0.05, 0.0),
            (_TIME.at(score.ENDING) - 0.05, 0.0),
            (_TIME.at(score.ENDING), 5.0),
            (_TIME.at(score.ENDING + 2, 3.0), 5.0),
            (_SECONDS - 3.0, -4.0),
        ),
    ),
)

RETURNS = {
    "room": Return(ROOM, (low_cut(90.0), high_shelf(5000.0, -2.0))),
    "loft": Return(LOFT, (low_cut(140.0), high_cut(11000.0))),
}
BUS = (low_shelf(110.0, 1.0),)


def combine(stems: Mapping[str, Audio]) -> dict[str, Audio]:
    """Return every strip and space as it goes to the sum."""
    return mix(stems, STRIPS, RETURNS, BUS, _CHORUS_S, _SEED)


SONG = Song(
    slug="chairs_up_at_the_net_loft",
    title="Chairs Up at the Net Loft",
    style="swung trio of piano, double bass and drums with a long quiet ending",
    key="D minor",
    timeline=_TIME,
    sections=score.SECTIONS,
    seed=_SEED,
    perform=perform,
    combine=combine,
    sources={
        "piano, double bass": "FluidR3 GM sound font (MIT), with own hammers, dampers, fingertips and air",
        "drums": "FluidR3 GM sound font (MIT), kits 32 and 40, layered with own synthesis",
        "stirring brush, cymbal layers": "own synthesis from noise and sines",
        "rooms": "own impulse responses, made of noise",
        "song": "tune, chords, arrangement and mix made for this project",
    },
    traits=("long tail",),
    windows={
        "loudness_range_lu": (8.0, 20.0),
        "peak_to_loudness_db": (12.0, 18.0),
        "chorus_over_verse_lu": (2.0, 12.0),
    },
)
