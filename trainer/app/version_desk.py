"""The desk's work on versions of a mix: rendered with and without moves, pushed to rungs, played on small systems."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from trainer.app.song_shelf import OUTLINE_COLUMNS, OpenedSong, SongShelf, tell_share, tell_stage
from trainer.audio.loops import outline_loop
from trainer.decisions.bounce import make_push
from trainer.decisions.candidate_loops import (
    StretchLoops,
    choose_last_stretches,
    choose_stretches,
    cut_stretches,
    cut_versions,
    match_versions,
)
from trainer.decisions.mix_jobs import HearMoves, HearSystems, TryRungs, VersionsHeard
from trainer.decisions.rungs import try_rungs
from trainer.decisions.song_results import list_steps, measure_candidate
from trainer.decisions.systems import SYSTEMS, play_on_systems
from trainer.dsp.matching import spread_lu
from trainer.dsp.song_chain import Step
from trainer.errors import EvenhandError
from trainer.workshop.desk import Tell

TITLES = {"loudest": "a loud stretch", "quiet": "a quiet stretch"}


class VersionDesk:
    """Make versions of a mix ready to be heard.

    Parameters
    ----------
    shelf : SongShelf
        Where mixes are read.
    """

    def __init__(self, shelf: SongShelf) -> None:
        self._shelf = shelf
        self.works: dict[type, Callable[[Any, Tell], Any]] = {
            HearMoves: self._hear_moves,
            TryRungs: self._try_rungs,
            HearSystems: self._hear_systems,
        }

    def _hear_moves(self, job: HearMoves, tell: Tell) -> VersionsHeard:
        """Render the song with and without some moves, and cut where both are heard."""
        opened = self._shelf.read(job.path, tell_stage(tell, 0.0, 0.4))
        last = make_push(job.loudness) if job.loudness is not None else None
        chains = [list_steps(job.without), list_steps(job.with_them)]
        if last is not None:
            chains = [(*chains[0], last) if job.both_loud else chains[0], (*chains[1], last)]
        if job.places == "whole":
            stretches = choose_last_stretches(opened.clip, opened.evidence)
        else:
            stretches = choose_stretches(opened.clip, opened.evidence)
        added = [each for each in job.with_them if each not in job.without]
        alone = len(added) == 1 and last is None
        width = 0.3 if alone else 0.6
        loops = cut_versions(opened.clip, chains, stretches, tell_share(tell, 0.4, width, "Rendering both versions"))
        results: dict[str, float] = {}
        if alone:
            measured = measure_candidate(
                opened.clip, added[0], job.without, tell_share(tell, 0.7, 0.3, "Measuring the whole song")
            )
            results = measured.results
        hashes = tuple(_hash(opened.song.sha256, chain) for chain in chains)
        return _gather(opened, loops, hashes, results)

    def _try_rungs(self, job: TryRungs, tell: Tell) -> VersionsHeard:
        """Find the drive for each rung on the whole song, what it costs, and let all be heard."""
        opened = self._shelf.read(job.path, tell_stage(tell, 0.0, 0.2))
        stretches = choose_stretches(opened.clip, opened.evidence)
        found = try_rungs(
            opened.clip,
            job.kept,
            job.asked_lufs,
            job.ceiling_dbtp,
            job.playback_lufs,
            tell_share(tell, 0.2, 0.7, "Driving the whole song into the limiter"),
            tuple(stretches.values()),
        )
        if not found.loudness.rungs:
            raise EvenhandError("\n".join(found.refused))
        loops: list[StretchLoops] = []
        for number, (name, place) in enumerate(stretches.items()):
            tell(0.9 + 0.1 * number / len(stretches), f"Matching {TITLES.get(name, name)}")
            loops.append(StretchLoops(name, place, match_versions(tuple(rung[number] for rung in found.loops))))
        kept, count = list_steps(job.kept), len(found.loudness.rungs)
        hashes = tuple(_hash(opened.song.sha256, (*kept, *found.list_steps(number))) for number in range(count))
        heard = _gather(opened, loops, hashes, {})
        return replace(heard, loudness=found.loudness, refused=found.refused, kind="rungs")

    def _hear_systems(self, job: HearSystems, tell: Tell) -> VersionsHeard:
        """Give the kept moves as small systems let them through."""
        opened = self._shelf.read(job.path, tell_stage(tell, 0.0, 0.4))
        loud = choose_stretches(opened.clip, opened.evidence)["loudest"]
        rendering = "Rendering the song with its moves"
        made = cut_versions(
            opened.clip, (list_steps(job.kept),), {"loudest": loud}, tell_share(tell, 0.4, 0.4, rendering)
        )[0]
        tell(0.8, "Playing it on small systems")
        matched = play_on_systems(made.versions[0].loop)
        sounds = np.stack([each.loop.samples for each in matched])
        names = ("as it is", *(system.title.lower() for system in SYSTEMS.values()))
        outline = outline_loop(sounds[0], OUTLINE_COLUMNS)
        place, lufs = (loud.start_s, loud.end_s), matched[0].loudness_lufs
        rate_hz = opened.clip.rate_hz
        return VersionsHeard(
            (sounds,), rate_hz, (place,), names, (), lufs, spread_lu(matched), (outline,), kind="named"
        )


def _gather(
    opened: OpenedSong, loops: Sequence[StretchLoops], hashes: tuple[str, ...], results: dict[str, float]
) -> VersionsHeard:
    """Gather what is heard: sounds, places, and the outline of the untouched song."""
    places = [each.stretch for each in loops]
    untouched = cut_stretches(opened.clip, places)
    return VersionsHeard(
        tuple(np.stack([version.loop.samples for version in each.versions]) for each in loops),
        opened.clip.rate_hz,
        tuple((place.start_s, place.end_s) for place in places),
        tuple(TITLES.get(each.name, each.name) for each in loops),
        hashes,
        loops[0].versions[0].loudness_lufs,
        max(spread_lu(each.versions) for each in loops),
        tuple(outline_loop(each.samples, OUTLINE_COLUMNS) for each in untouched),
        results,
    )


def _hash(sha256: str, chain: Sequence[Step]) -> str:
    """Name a version by its mix and its moves, so that it is known again."""
    steps = [[step.move, dict(sorted(step.settings.items()))] for step in chain]
    return hashlib.sha256(f"{sha256} {json.dumps(steps)}".encode()).hexdigest()
