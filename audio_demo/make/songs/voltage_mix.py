"""Slack Water Voltage: the machines and the mix, dense and driven too far, as many mixes come."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from .. import drum_machine, noises
from ..desk import Return, Strip, echo, mix, summed
from ..dynamics import Compressor
from ..facts import true_peak_dbtp
from ..filters import bell, equalise, high_cut, high_shelf, low_cut
from ..hot_bus import led_out
from ..pumping import pumped
from ..reverb import HALL, PLATE, ROOM
from ..saturation import Drive, driven
from ..score import Note, dice
from ..signal import Audio, db_to_gain
from ..singing import Take, sing
from ..song import Song
from ..speech import Speaker
from ..sweep import swept, through_points
from ..synthesiser import Patch, play_patch, sub_bass
from ..vocoder import vocode
from . import voltage_score as score

_SECONDS, _SEED, _TIME = score.SECONDS, score.SEED, score.TIMELINE
_PEAK_DBTP = -0.9

_PAD = Patch("saw", 7, 16.0, 0.95, 60.0, 400.0, 0.85, 140.0, 19_000.0)
_STAB = Patch("saw", 5, 12.0, 0.8, 2.0, 140.0, 0.1, 60.0, 900.0, 3.2, 90.0, 1.5)
_PLUCK = Patch("pulse", 2, 9.0, 0.6, 1.5, 170.0, 0.0, 90.0, 700.0, 3.4, 70.0, 1.6)
_MIDDLE = Patch("saw", 3, 10.0, 0.25, 2.0, 200.0, 0.55, 25.0, 220.0, 3.0, 95.0, 2.0, octave_below=0.35)
_LEAD = Patch("pulse", 3, 11.0, 0.5, 6.0, 300.0, 0.75, 90.0, 3200.0, 1.6, 200.0, 1.1, vibrato_cents=14.0)
_CARRIER = Patch("saw", 3, 14.0, 0.7, 8.0, 300.0, 1.0, 60.0)
_SPEAKER = Speaker("en-us+m3", 150, 30)
_CHOPPER = Speaker("en-us+f3", 130, 5)


def _pad(kicks: list[Note]) -> Audio:
    """The pad behind a filter that opens over the verses and shuts at the end."""
    at = _TIME.at
    points = (
        (at(0), 420.0),
        (at(score.VERSE), 1300.0),
        (at(score.VERSE + 4), 900.0),
        (at(score.CHORUS) - 0.1, 4200.0),
        (at(score.CHORUS), 6500.0),
        (at(score.VERSE_TWO) - 0.1, 7500.0),
        (at(score.VERSE_TWO), 700.0),
        (at(score.CHORUS_TWO) - 0.1, 5200.0),
        (at(score.CHORUS_TWO), 7500.0),
        (at(score.ENDING), 9000.0),
        (at(score.ENDING + 2), 500.0),
    )
    raw = play_patch(score.pad(), _PAD, _SECONDS, _SEED, "pad")
    return pumped(swept(raw, through_points(points, len(raw)), q=1.3), kicks, depth_db=13.0, return_ms=330.0)


def _vocoder(kicks: list[Note]) -> Audio:
    """The words of the choruses, spoken by the chords."""
    spoken = sing(score.vocoder_lines(), _TIME, Take(_SPEAKER, _SEED + 1, vibrato_cents=0.0), _SECONDS)
    carrier = play_patch(score.carrier(), _CARRIER, _SECONDS, _SEED, "carrier")
    return pumped(vocode(spoken, carrier, dice(_SEED, "vocoder"), hiss=1.1), kicks, depth_db=3.0, return_ms=160.0)


def _machines(kicks: list[Note]) -> dict[str, Audio]:
    """All drums."""
    strokes = score.drums()
    made = {
        "kick": drum_machine.kick(kicks, _SECONDS, _SEED, floor_hz=46.0, length_s=0.34),
        "clap": drum_machine.clap(strokes["clap"], _SECONDS, _SEED, "clap"),
        "second clap": drum_machine.clap(strokes["second clap"], _SECONDS, _SEED, "second clap"),
        "snap": drum_machine.snap(strokes["snap"], _SECONDS, _SEED),
        "closed hat": drum_machine.hat(strokes["closed hat"], _SECONDS, _SEED, "closed hat", ring_ms=26.0),
        "open hat": drum_machine.hat(strokes["open hat"], _SECONDS, _SEED, "open hat", ring_ms=85.0),
        "shaker": noises.shaker(strokes["shaker"], _SECONDS, dice(_SEED, "shaker grains")),
        "crash": noises.cymbal(strokes["crash"], _SECONDS, dice(_SEED, "crash"), ring_s=3.2, lowest_hz=800.0),
    }
    return made


def _risers() -> Audio:
    """Noise that rises into each chorus."""
    first = noises.swell(_TIME.at(10), _TIME.at(12), _SECONDS, dice(_SEED, "riser"))
    second = noises.swell(_TIME.at(22), _TIME.at(24), _SECONDS, dice(_SEED, "second riser"))
    points = [(0.0, 900.0)]
    for start, end in ((10, 12), (22, 24)):
        points += [(_TIME.at(start), 900.0), (_TIME.at(end), 14_000.0), (_TIME.at(end) + 0.1, 900.0)]
    both = first + second
    return swept(both, through_points(points, len(both)), q=1.8)


def perform() -> dict[str, Audio]:
    """Return every dry part of the song."""
    kicks = score.kicks()
    stems = _machines(kicks)
    sub = sub_bass(score.sub(), _SECONDS, fall=0.3, decay_s=1.4)
    stems["sub"] = pumped(sub, kicks, depth_db=16.0, return_ms=170.0)
    middle = play_patch(score.middle_bass(), _MIDDLE, _SECONDS, _SEED, "middle bass")
    stems["middle bass"] = pumped(middle, kicks, depth_db=10.0, return_ms=140.0)
    stems["pad"] = _pad(kicks)
    stabs = play_patch(score.stabs(), _STAB, _SECONDS, _SEED, "stabs")
    stems["stabs"] = pumped(stabs, kicks, depth_db=5.0, return_ms=120.0)
    plucks = play_patch(score.plucks(), _PLUCK, _SECONDS, _SEED, "plucks")
    stems["plucks"] = plucks
    stems["pluck echo"] = echo(plucks, 351.56, 5, -4.5, (low_cut(300.0), high_cut(5500.0)))
    lead = play_patch(score.lead(), _LEAD, _SECONDS, _SEED, "lead")
    stems["lead"] = lead
    stems["lead echo"] = pumped(
        echo(lead, 351.56, 4, -5.0, (low_cut(350.0), high_cut(5000.0))), kicks, depth_db=8.0, return_ms=200.0
    )
    stems["vocoder"] = _vocoder(kicks)
    chops = sing(score.chops(), _TIME, Take(_CHOPPER, _SEED + 2, formant=1.08, vibrato_cents=0.0), _SECONDS)
    stems["chops"] = chops
    stems["chop echo"] = echo(chops, 234.375, 5, -4.0, (low_cut(300.0), high_cut(6000.0)))
    stems["riser"] = _risers()
    return stems


_VERSE_S = (_TIME.at(score.VERSE), _TIME.at(score.CHORUS))
_CHORUS_S = (_TIME.at(score.CHORUS), _TIME.at(score.VERSE_TWO))
_CHORUS_TWO_S = (_TIME.at(score.CHORUS_TWO), _TIME.at(score.ENDING))
_CHOPS_S = (_TIME.at(score.VERSE_TWO), _TIME.at(score.CHORUS_TWO))
_FIRM = Compressor(18.0, 4.0, 4.0, 120.0)
_GLUE = Compressor(12.0, 3.0, 10.0, 120.0)


def _rides(verse_db: float, chorus_two_db: float = 0.0) -> tuple[tuple[float, float], ...]:
    """Levels of the sections against the first chorus, changed just before the bar."""
    points: list[tuple[float, float]] = [(0.0, 0.0), (_TIME.at(score.VERSE) - 0.06, 0.0)]
    points += [(_TIME.at(score.VERSE) - 0.01, verse_db)]
    for bar, before_db, after_db in (
        (score.CHORUS, verse_db, 0.0),
        (score.VERSE_TWO, 0.0, verse_db),
        (score.CHORUS_TWO, verse_db, chorus_two_db),
    ):
        points += [(_TIME.at(bar) - 0.06, before_db), (_TIME.at(bar) - 0.01, after_db)]
    return tuple(points)


_DRUMS = (
    Strip("kick", -16.9, before=(low_cut(28.0), bell(260.0, -3.0, 1.0)), rides=_rides(-5.0)),
    Strip("clap", -26.0, pan=-0.2, width=1.2, sends_db={"room": -9.0, "plate": -14.0}),
    Strip("second clap", -27.5, pan=0.3, width=1.2, before=(high_shelf(4000.0, 3.0),), sends_db={"plate": -12.0}),
    Strip("snap", -22.5, before=(low_cut(120.0),), sends_db={"room": -12.0}, rides=_rides(-5.0)),
    Strip("closed hat", -42.5, pan=0.2, width=0.8, sends_db={"room": -18.0}, rides=_rides(-1.5)),
    Strip("open hat", -40.0, pan=-0.15, width=0.9, sends_db={"room": -16.0}),
    Strip("shaker", -44.0, pan=0.45, width=0.9, before=(low_cut(2500.0),)),
    Strip("crash", -40.0, width=1.1, before=(low_cut(400.0),), sends_db={"hall": -14.0}),
)
_BASSES = (
    Strip("sub", -17.2, before=(high_cut(400.0),), rides=_rides(-4.5)),
    Strip("middle bass", -22.5, width=1.4, before=(low_cut(70.0),), compressors=(_GLUE,), rides=_rides(-6.0)),
)
_MUSIC = (
    Strip(
        "pad",
        -23.5,
        width=1.4,
        ducked_by="vocoder",
        duck_db=3.0,
        before=(low_cut(170.0), bell(350.0, -2.0)),
        sends_db={"hall": -12.0},
        rides=_rides(-5.0),
    ),
    Strip(
        "stabs",
        -26.0,
        width=1.3,
        before=(low_cut(180.0),),
        sends_db={"plate": -12.0},
        ducked_by="vocoder",
        duck_db=4.0,
    ),
    Strip(
        "plucks",
        -29.0,
        pan=-0.2,
        width=1.1,
        level_window_s=_VERSE_S,
        before=(low_cut(220.0),),
        sends_db={"plate": -10.0},
    ),
    Strip("pluck echo", -34.0, width=1.1, level_window_s=_VERSE_S, sends_db={"hall": -12.0}),
    Strip(
        "lead",
        -25.0,
        ducked_by="vocoder",
        duck_db=4.0,
        level_window_s=_CHORUS_TWO_S,
        before=(low_cut(250.0), bell(2800.0, -2.0)),
        compressors=(_GLUE,),
        sends_db={"hall": -12.0, "plate": -14.0},
    ),
    Strip("lead echo", -31.5, level_window_s=_CHORUS_TWO_S, sends_db={"hall": -14.0}),
    Strip("riser", -35.0, width=1.1, level_window_s=(_TIME.at(11), _TIME.at(12)), sends_db={"hall": -12.0}),
)
_VOICES = (
    Strip(
        "vocoder",
        -17.5,
        width=0.9,
        before=(low_cut(150.0), bell(2600.0, 3.0, 0.7), high_shelf(6000.0, 3.0)),
        compressors=(_FIRM,),
        sends_db={"plate": -15.0},
    ),
    Strip(
        "chops",
        -23.0,
        level_window_s=_CHOPS_S,
        before=(low_cut(200.0),),
        compressors=(_FIRM,),
        sends_db={"plate": -9.0},
    ),
    Strip("chop echo", -33.0, level_window_s=_CHOPS_S, sends_db={"hall": -8.0}),
)
# The voices stand first: what makes room for them listens to them.
STRIPS = (*_DRUMS, *_BASSES, *_VOICES, *_MUSIC)

RETURNS = {
    "room": Return(ROOM, (low_cut(200.0), high_shelf(5000.0, -3.0))),
    "plate": Return(PLATE, (low_cut(300.0), high_shelf(6000.0, -2.0))),
    "hall": Return(HALL, (low_cut(320.0), high_cut(9000.0))),
}

# Every bus is driven on its own, then all of them together: distortion of distortion.
_BUSES = (
    (_DRUMS, Drive(4.0, 2.5, 0.05)),
    (_BASSES, Drive(7.0, 2.0, 0.12)),
    (_MUSIC, Drive(5.0, 2.0, 0.1)),
    (_VOICES, Drive(6.0, 2.0)),
)
_TOGETHER = Drive(-0.4, 3.0, 0.04)


def combine(stems: Mapping[str, Audio]) -> dict[str, Audio]:
    """Return the whole mix as one track: driven buses and spaces through a driven mix bus."""
    tracks = mix(stems, STRIPS, RETURNS, (), _CHORUS_S, _SEED)
    total = summed({name: tracks[name] for name in RETURNS})
    for strips, drive in _BUSES:
        total = total + driven(summed({strip.name: tracks[strip.name] for strip in strips}), drive)
    total = equalise(total, (low_cut(24.0), high_shelf(6000.0, -2.8)))
    return {"mix": equalise(driven(total, _TOGETHER), (low_cut(20.0),))}


def finish(total: Audio) -> Audio:
    """Return the mix at its peak, its tail led into silence."""
    return led_out(total * np.float32(db_to_gain(_PEAK_DBTP - true_peak_dbtp(total))))


SONG = Song(
    slug="slack_water_voltage",
    title="Slack Water Voltage",
    style="bass-heavy electronic, saturated on every bus",
    key="G minor",
    timeline=_TIME,
    sections=score.SECTIONS,
    seed=_SEED,
    perform=perform,
    combine=combine,
    sources={
        "drums": "own synthesis from oscillators and noise",
        "bass, pads, stabs, plucks, lead": "own band-limited synthesis",
        "voice": "espeak-ng, voices en-us+m3 (through a vocoder) and en-us+f3, set to pitch and time by own code",
        "rooms": "own impulse responses, made of noise",
        "song": "words, tune, chords, arrangement and mix made for this project",
    },
    traits=("backbeat", "voice"),
    windows={
        "integrated_lufs": (-13.0, -11.0),
        "true_peak_dbtp": (-1.0, -0.5),
        "loudness_range_lu": (3.0, 9.0),
        "peak_to_loudness_db": (8.0, 11.5),
    },
    finish=finish,
)
