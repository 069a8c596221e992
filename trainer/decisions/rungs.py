"""Loudness rungs: a song pushed to a few loudnesses, what each costs, and how playback would turn it down."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from trainer.audio.clip import Clip
from trainer.decisions.bounce import make_push
from trainer.decisions.bounces import Stretch
from trainer.decisions.candidate_loops import cut_stretches
from trainer.decisions.rung_costs import Costs, measure_costs
from trainer.decisions.sheet import Candidate, Loudness, Rung
from trainer.decisions.song_results import list_steps
from trainer.decisions.target import Target
from trainer.dsp.dynamics.song_push import SongPush
from trainer.dsp.move import complete_settings
from trainer.dsp.processor import TellShare, tell_nothing, tell_part
from trainer.dsp.song_chain import Step, render_song
from trainer.errors import BadValue
from trainer.measure.loudness import measure_integrated_lufs
from trainer.measure.standards import CEILING_DBTP
from trainer.measure.true_peak import measure_true_peak
from trainer.units import write_number

MOST_RUNGS = 8
# Around the aim: one calmer, the aim, two louder; common practice, no source.
AROUND_AIM_LU = (-2.0, 0.0, 1.5, 3.0)
# From the quiet to the loud end of what is released today; common practice, no source.
LADDER_LUFS = (-14.0, -11.5, -9.0, -7.0)
# Above a song that is louder than its aim; common practice, no source.
ABOVE_LU = (0.5, 1.5, 3.0, 4.5)
# One alone has nothing to be heard against.
FEWEST_RUNGS = 2
LOWEST_LUFS, HIGHEST_LUFS = -24.0, -5.0
# Near enough to what is asked; what the rendered song has is what is said.
CLOSE_LU = 0.2
# Roughly the part of a rung's time until it is driven; the rest measures what it costs.
DRIVEN = 0.7
# Readings are stated to a hundredth.
PEAK_SLACK_DB = 0.005


@dataclass(frozen=True)
class RungsTried:
    """Hold the rungs of a song.

    Parameters
    ----------
    loudness : Loudness
        The rungs, the calmest first, none of them chosen, and the settings of `song_push` but for the drive.
    refused : tuple of str
        Why a loudness cannot be had, a line each.
    loops : tuple of tuple of Clip
        Of each rung the stretches that were asked for, cut from its rendering; not matched yet.
    """

    loudness: Loudness
    refused: tuple[str, ...]
    loops: tuple[tuple[Clip, ...], ...] = ()

    def list_steps(self, number: int) -> tuple[Step, ...]:
        """List the step that makes a rung, behind the kept moves."""
        step = make_push(replace(self.loudness, chosen=number))
        return () if step is None else (step,)


def list_around(aim_lufs: float | None, own_lufs: float = -math.inf) -> tuple[float, ...]:
    """List up to four loudnesses, LUFS, that lie above a song's own.

    Nothing is turned down for a target: playback does that, and would do it to the mix as well.

    Parameters
    ----------
    aim_lufs : float or None
        They lie around it, fewer at the ends of the scale; None for −14 to −7 LUFS.
    own_lufs : float
        Loudness of the song with its kept moves; where it leaves fewer than two, some above it take their place.
    """
    if aim_lufs is None:
        return list_wide(own_lufs)
    kept = dict.fromkeys(min(max(aim_lufs + by, LOWEST_LUFS), HIGHEST_LUFS) for by in AROUND_AIM_LU)
    around = tuple(level for level in kept if level > own_lufs + CLOSE_LU)
    if len(around) >= FEWEST_RUNGS:
        return around
    above = (round(own_lufs + step, 1) for step in ABOVE_LU)
    return tuple(level for level in above if level <= HIGHEST_LUFS)


def list_wide(own_lufs: float) -> tuple[float, ...]:
    """List what of the range that is released lies above a song's own loudness; none where that is too little."""
    above = tuple(level for level in LADDER_LUFS if level > own_lufs + CLOSE_LU)
    return above if len(above) >= FEWEST_RUNGS else ()


def add_changes(mix_lufs: float, kept: Sequence[Candidate]) -> float | None:
    """Give the loudness of a song with its kept moves, LUFS, from what each of them was measured to change.

    Each was measured behind the moves ahead of it in the chain, so that the changes add up; where one was kept later
    or taken away, the sum is off by what it did to the others. So it is "about"; a tried rung holds what was measured.

    Parameters
    ----------
    mix_lufs : float
        Of the untouched mix.
    kept : sequence of Candidate
        The kept moves.

    Returns
    -------
    float or None
        None where a move has not been measured.
    """
    changes = [each.results.get("loudness_change_lu") for each in kept]
    known = [change for change in changes if change is not None]
    return mix_lufs + sum(known) if len(known) == len(changes) else None


def read_own(rung: Rung) -> float | None:
    """Give the loudness of the song behind its kept moves, LUFS, as it came into the limiter; None if not measured."""
    change = rung.costs.get("loudness_change_lu")
    return None if change is None else rung.reached_lufs - change


def list_playback(targets: Sequence[Target]) -> dict[str, float]:
    """List the loudness that each target's playback aims at, LUFS, where it has one."""
    return {target.target: target.aim_lufs for target in targets if target.aim_lufs is not None}


def try_rungs(
    song: Clip,
    kept: Sequence[Candidate],
    asked_lufs: Sequence[float],
    ceiling_dbtp: float = CEILING_DBTP,
    playback_lufs: Mapping[str, float] | None = None,
    tell: TellShare = tell_nothing,
    stretches: Sequence[Stretch] = (),
    settings: Mapping[str, float] | None = None,
) -> RungsTried:
    """Push a whole song, behind its kept moves, to some loudnesses, and measure each rendering.

    Parameters
    ----------
    song : Clip
        The mix.
    kept : sequence of Candidate
        The moves before the push.
    asked_lufs : sequence of float
        Loudnesses, LUFS, one to eight.
    ceiling_dbtp : float
        Highest true peak of each rung, dBTP, −12 to 0.
    playback_lufs : mapping of str to float, optional
        Loudness that playback aims at, by the target's name, against which each rung is held.
    tell : callable
        Is told how much of the work is done, 0 to 1.
    stretches : sequence of Stretch
        Where to cut loops from each rung; the first is the loud one, on which what was added is read.
    settings : mapping of str to float, optional
        Releases and clipper of `song_push`; its own if not given.

    Returns
    -------
    RungsTried
        Each rung holds as ``loudness_change_lu`` how far it lies over the song as it comes into the limiter.

    Raises
    ------
    BadValue
        If there are no loudnesses or too many, the song is silent, or a setting is out of bounds.
    """
    if not 1 <= len(asked_lufs) <= MOST_RUNGS:
        raise BadValue("rungs", "loudnesses", len(asked_lufs), f"1 to {MOST_RUNGS}")
    move = SongPush()
    full = complete_settings(move, {**(settings or {}), "ceiling_dbtp": ceiling_dbtp})
    before = move.prepare(render_song(song, list_steps(kept)))
    own_lufs = measure_integrated_lufs(before.samples, before.rate_hz)
    if not math.isfinite(own_lufs):
        raise BadValue("rungs", "loudness_lufs", "−∞", "a song with sound in it")
    costs = Costs(before, stretches[0] if stretches else None)
    rungs: list[Rung] = []
    refused: list[str] = []
    loops: list[tuple[Clip, ...]] = []
    for number, asked in enumerate(sorted(asked_lufs)):
        told = tell_part(tell, number / len(asked_lufs), DRIVEN / len(asked_lufs))
        made = _try(move, before, own_lufs, asked, full, told)
        if isinstance(made, str):
            refused.append(f"{write_number(asked)} LUFS: {made}")
        else:
            rung, clip = made
            measured = measure_costs(costs, clip, rung.drive_db) | turn_down(rung.reached_lufs, playback_lufs or {})
            measured["loudness_change_lu"] = rung.reached_lufs - own_lufs
            rungs.append(replace(rung, costs=rung.costs | measured))
            loops.append(cut_stretches(clip, stretches))
        tell((number + 1) / len(asked_lufs))
    held = {name: value for name, value in full.items() if name not in ("drive_db", "reached_lufs")}
    return RungsTried(Loudness(tuple(rungs), None, held), tuple(refused), tuple(loops))


def turn_down(loudness_lufs: float, playback_lufs: Mapping[str, float]) -> dict[str, float]:
    """Give by how much playback at each loudness turns a song down, dB; 0 where it leaves it alone."""
    return {f"turned_down_{name}_db": max(0.0, loudness_lufs - aim) for name, aim in playback_lufs.items()}


def _try(
    move: SongPush, before: Clip, own_lufs: float, asked_lufs: float, full: dict[str, float], tell: TellShare
) -> tuple[Rung, Clip] | str:
    """Push to a loudness; or say why it cannot be had."""
    no_louder = f"The song with its moves has {write_number(own_lufs)} LUFS: to be no louder it needs no limiter."
    if asked_lufs <= own_lufs:
        return no_louder
    driven = move.solve_song(before, asked_lufs, full, CLOSE_LU, tell)
    if not driven.reached:
        most = write_number(driven.loudness_lufs)
        return f"With these settings the song does not come over {most} LUFS, whatever the drive."
    if driven.loudness_lufs <= own_lufs:
        return no_louder
    highest = measure_true_peak(driven.clip.samples, driven.clip.rate_hz).dbtp
    if highest > full["ceiling_dbtp"] + PEAK_SLACK_DB:
        over = write_number(highest, 2)
        return f"Its true peak came to {over} dBTP, over the ceiling: not offered."
    return Rung(asked_lufs, driven.loudness_lufs, driven.drive_db, {"true_peak_dbtp": highest}), driven.clip
