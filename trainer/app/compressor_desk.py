"""The desk's work on a bus compressor: one loop of the song at every setting, measured and equally loud."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from trainer.app.song_shelf import OUTLINE_COLUMNS, SongShelf
from trainer.audio.clip import Clip
from trainer.audio.loops import outline_loop
from trainer.decisions.bounces import Stretch
from trainer.decisions.candidate_loops import BEHIND_S, choose_stretches, cut_stretches
from trainer.decisions.compressor_bench import lay_bench, try_grid
from trainer.decisions.mix_jobs import SettingsHeard, TrySettings
from trainer.decisions.sheet import Candidate, place_in_chain
from trainer.decisions.song_results import list_steps
from trainer.dsp.matching import CLOSEST_LU, PLAYED_LUFS, MatchedLoop, match_loops, spread_lu
from trainer.dsp.song_chain import render_song
from trainer.errors import BadValue
from trainer.workshop.desk import Tell

# Solving takes so much of the work; the rest is matching.
SOLVED = 0.6


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
        opened = self._shelf.read(job.path, tell)
        loud = choose_stretches(opened.clip, opened.evidence)["loudest"]
        tell(0.1, "Rendering what goes before the compressor")
        loop = _cut_before(opened.clip, job.kept, job.candidate, loud)
        bench = lay_bench(loop, job.candidate.settings)
        grid, made = try_grid(
            bench, tell=lambda share: tell(0.1 + (SOLVED - 0.1) * share, "Solving settings for the same reduction")
        )
        matched = _match(loop, made, len(made) // 2, lambda share: tell(SOLVED + (1 - SOLVED) * share, "Matching"))
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


def _match(loop: Clip, made: Sequence[Clip], count: int, tell: Callable[[float], None]) -> tuple[MatchedLoop, ...]:
    """Bring a loop and its settings to one loudness, some at a time; where one has no room for it, all to its own."""
    played_lufs = PLAYED_LUFS
    while True:
        parts: list[tuple[MatchedLoop, ...]] = []
        for start in range(0, len(made), count):
            tell(start / len(made))
            parts.append(match_loops((loop, *made[start : start + count]), played_lufs))
        lowest_lufs = min(each[0].loudness_lufs for each in parts)
        if lowest_lufs > played_lufs - CLOSEST_LU:
            break
        played_lufs = lowest_lufs
    matched = (parts[0][0], *(each for part in parts for each in part[1:]))
    if spread_lu(matched) > CLOSEST_LU:
        raise BadValue("loudness match", "spread_lu", f"{spread_lu(matched):.3f}", f"at most {CLOSEST_LU} LU")
    return matched


def _cut_before(song: Clip, kept: Sequence[Candidate], candidate: Candidate, loud: Stretch) -> Clip:
    """Cut a loop of the song as far as the chain goes before a move."""
    place = place_in_chain(candidate.move)
    steps = list_steps([each for each in kept if place_in_chain(each.move) < place])
    needed = min(song.frames, round((loud.end_s + BEHIND_S) * song.rate_hz))
    return cut_stretches(render_song(song.with_samples(song.samples[:needed]), steps), (loud,))[0]
