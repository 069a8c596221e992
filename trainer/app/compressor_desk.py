"""The desk's work on a bus compressor: one loop of the song at every setting, measured and equally loud."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from trainer.app.song_shelf import OUTLINE_COLUMNS, SongShelf, tell_stage
from trainer.audio.clip import Clip
from trainer.audio.loops import outline_loop
from trainer.decisions.bounces import Stretch
from trainer.decisions.candidate_loops import BEHIND_S, choose_stretches, cut_stretches
from trainer.decisions.compressor_bench import lay_bench, try_grid
from trainer.decisions.mix_jobs import SettingsHeard, TrySettings
from trainer.decisions.sheet import Candidate, place_in_chain
from trainer.decisions.song_results import list_steps
from trainer.dsp.matching import (
    CLOSEST_LU,
    GUARD_LU,
    PEAK_MARGIN_DB,
    PLAYED_LUFS,
    MatchedLoop,
    spread_lu,
    turn_loop,
)
from trainer.dsp.processor import TellShare
from trainer.dsp.song_chain import render_song
from trainer.errors import BadValue
from trainer.measure.loudness import measure_loop_lufs
from trainer.measure.second_reading import read_loop_lufs
from trainer.measure.standards import CEILING_DBTP
from trainer.measure.true_peak import measure_loop_true_peak
from trainer.workshop.desk import Tell

# How far the work is when the song is read, what goes before is rendered, and all is solved; the rest is matching.
READ_SHARE, AHEAD, SOLVED = 0.15, 0.25, 0.65
# Of the matching: when all is measured, and when it is turned and measured again; the rest is the second meter.
MEASURED, TURNED = 0.25, 0.7


class CompressorDesk:
    """Make settings of a bus compressor ready to be heard beside each other.

    Parameters
    ----------
    shelf : SongShelf
        Where mixes are read.
    """

    def __init__(self, shelf: SongShelf) -> None:
        self._shelf = shelf
        self.works: dict[type, Callable[[Any, Tell], Any]] = {TrySettings: self._try_settings}

    def _try_settings(self, job: TrySettings, tell: Tell) -> SettingsHeard:
        """Render every setting on a loud stretch of the song, at one reduction, and match them."""
        opened = self._shelf.read(job.path, tell_stage(tell, 0.0, READ_SHARE))
        loud = choose_stretches(opened.clip, opened.evidence)["loudest"]
        ahead = "Rendering what goes before the compressor"
        loop = _cut_before(
            opened.clip,
            job.kept,
            job.candidate,
            loud,
            lambda share: tell(READ_SHARE + (AHEAD - READ_SHARE) * share, ahead),
        )
        bench = lay_bench(loop, job.candidate.settings)
        grid, made = try_grid(
            bench, tell=lambda share: tell(AHEAD + (SOLVED - AHEAD) * share, "Solving settings for the same reduction")
        )
        matched = match_settings(loop, made, lambda share: tell(SOLVED + (1 - SOLVED) * share, "Matching"))
        return SettingsHeard(
            job,
            grid,
            np.stack([each.loop.samples for each in matched]),
            loop.rate_hz,
            (loud.start_s, loud.end_s),
            matched[0].loudness_lufs,
            spread_lu(matched),
            outline_loop(cut_stretches(opened.clip, (loud,))[0].samples, OUTLINE_COLUMNS),
        )


def match_settings(loop: Clip, made: Sequence[Clip], tell: TellShare = lambda share: None) -> tuple[MatchedLoop, ...]:
    """Bring a loop and its settings to one loudness, or as near below it as none passes −1 dBTP.

    As `dsp.matching.match_loops`, with less work for each of many sounds: the peak is measured once, after the gain,
    and the second meter reads one round.

    Parameters
    ----------
    loop : Clip
        Without the compressor.
    made : sequence of Clip
        With each setting; of the same rate and length.
    tell : callable
        Is told how much of the work is done, 0 to 1.

    Returns
    -------
    tuple of MatchedLoop
        The loop, then the settings in their order.

    Raises
    ------
    BadValue
        As `dsp.matching.match_loops`.
    """
    sounds = (loop, *made)
    gains_db = [PLAYED_LUFS - measure_loop_lufs(each.samples, each.rate_hz) for each in sounds]
    if not all(math.isfinite(gain_db) for gain_db in gains_db):
        raise BadValue("loop", "loudness_lufs", "−∞", "sound above the −70 LUFS gate")
    tell(MEASURED)
    matched = [_turn(each, gain_db) for each, gain_db in zip(sounds, gains_db, strict=True)]
    over_db = max(each.true_peak_dbtp for each in matched) - (CEILING_DBTP - PEAK_MARGIN_DB)
    if over_db > 0:
        matched = [_turn(each, gain_db - over_db) for each, gain_db in zip(sounds, gains_db, strict=True)]
    tell(TURNED)
    _guard(matched)
    return tuple(matched)


def _turn(loop: Clip, gain_db: float) -> MatchedLoop:
    """Turn a loop, and measure what will be played."""
    turned = turn_loop(loop, gain_db)
    lufs = measure_loop_lufs(turned.samples, turned.rate_hz)
    return MatchedLoop(turned, gain_db, lufs, measure_loop_true_peak(turned.samples, turned.rate_hz).dbtp)


def _guard(matched: Sequence[MatchedLoop]) -> None:
    """Refuse what is not equally loud on either meter, or too high in peak."""
    where, second = "loudness match", [read_loop_lufs(each.loop.samples, each.loop.rate_hz, 1) for each in matched]
    highest, apart = max(each.true_peak_dbtp for each in matched), max(second) - min(second)
    if spread_lu(tuple(matched)) > CLOSEST_LU:
        raise BadValue(where, "spread_lu", f"{spread_lu(tuple(matched)):.3f}", f"at most {CLOSEST_LU} LU")
    if apart > GUARD_LU:
        raise BadValue(where, "second_reading_lu", f"{apart:.3f}", f"at most {GUARD_LU} LU")
    if highest > CEILING_DBTP:
        raise BadValue(where, "true_peak_dbtp", f"{highest:.2f}", f"at most {CEILING_DBTP:g} dBTP")


def _cut_before(song: Clip, kept: Sequence[Candidate], candidate: Candidate, loud: Stretch, tell: TellShare) -> Clip:
    """Cut a loop of the song as far as the chain goes before a move."""
    place = place_in_chain(candidate.move)
    steps = list_steps([each for each in kept if place_in_chain(each.move) < place])
    needed = min(song.frames, round((loud.end_s + BEHIND_S) * song.rate_hz))
    return cut_stretches(render_song(song.with_samples(song.samples[:needed]), steps, tell=tell), (loud,))[0]
