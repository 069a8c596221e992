"""The desk's work on a bus compressor: one loop of the song at every setting, measured and equally loud."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from trainer.app.song_shelf import OUTLINE_COLUMNS, SongShelf, tell_share, tell_stage
from trainer.audio.clip import Clip
from trainer.audio.loops import outline_loop
from trainer.decisions.bounces import Stretch
from trainer.decisions.candidate_loops import BEHIND_S, choose_stretches, cut_stretches
from trainer.decisions.compressor_bench import lay_bench, try_grid
from trainer.decisions.mix_jobs import SettingsHeard, TrySettings
from trainer.decisions.sheet import Candidate, place_in_chain
from trainer.decisions.song_results import list_steps
from trainer.dsp.matching import match_many, spread_lu
from trainer.dsp.processor import TellShare
from trainer.dsp.song_chain import render_song
from trainer.workshop.desk import Tell

# How far the work is when the song is read, what goes before is rendered, and all is solved; the rest is matching.
READ_SHARE, AHEAD, SOLVED = 0.15, 0.25, 0.65


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
        ahead = tell_share(tell, READ_SHARE, AHEAD - READ_SHARE, "Rendering what goes before the compressor")
        loop = _cut_before(opened.clip, job.kept, job.candidate, loud, ahead)
        bench = lay_bench(loop, job.candidate.settings)
        solving = tell_share(tell, AHEAD, SOLVED - AHEAD, "Solving settings for the same reduction")
        grid, made = try_grid(bench, tell=solving)
        matched = match_many((loop, *made), tell_share(tell, SOLVED, 1 - SOLVED, "Matching"))
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


def _cut_before(song: Clip, kept: Sequence[Candidate], candidate: Candidate, loud: Stretch, tell: TellShare) -> Clip:
    """Cut a loop of the song as far as the chain goes before a move."""
    place = place_in_chain(candidate.move)
    steps = list_steps([each for each in kept if place_in_chain(each.move) < place])
    needed = min(song.frames, round((loud.end_s + BEHIND_S) * song.rate_hz))
    return cut_stretches(render_song(song.with_samples(song.samples[:needed]), steps, tell=tell), (loud,))[0]
