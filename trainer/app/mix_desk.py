"""The desk's work on a mix: read once and kept, then compared, proposed, rendered, bounced and checked."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from trainer.app.bounce_passes import Watch
from trainer.app.bouncing import BounceWish, bounce_sheet, check_against_sheet
from trainer.app.checking import gather_evidence
from trainer.app.conditions import Conditions
from trainer.app.mix_words import is_shown, name_short, word_checked
from trainer.audio.clip import Clip
from trainer.audio.fades import fade_clip
from trainer.audio.loops import outline_loop
from trainer.audio.resampling import resample_clip
from trainer.decisions.balance import Comparison, compare_balance
from trainer.decisions.balance_moves import propose_balance
from trainer.decisions.balance_reading import SongBalance, read_balance
from trainer.decisions.balance_words import word_rows
from trainer.decisions.bounce import make_push
from trainer.decisions.candidate_loops import (
    StretchLoops,
    choose_last_stretches,
    choose_stretches,
    cut_stretches,
    cut_versions,
    match_versions,
)
from trainer.decisions.evidence import Evidence
from trainer.decisions.fade_proposals import propose_fades
from trainer.decisions.high_pass_check import check_high_pass
from trainer.decisions.intake import examine_mix
from trainer.decisions.mix_jobs import (
    BandMarks,
    BounceChecked,
    CheckFile,
    CompareSongs,
    HearBeside,
    HearMoves,
    HearSong,
    HearSystems,
    MakeBounce,
    MixOpened,
    OpenMix,
    Propose,
    Proposed,
    SongHeard,
    SongsCompared,
    TryRungs,
    VersionsHeard,
)
from trainer.decisions.rungs import try_rungs
from trainer.decisions.sheet import Finding, MixFile
from trainer.decisions.song_results import list_steps, measure_candidate
from trainer.decisions.sweetening import propose_sweetening
from trainer.decisions.systems import SYSTEMS, play_on_systems
from trainer.dsp.matching import PEAK_MARGIN_DB, PLAYED_LUFS, spread_lu, turn_loop
from trainer.dsp.moves import MOVES
from trainer.dsp.song_chain import Step
from trainer.errors import EvenhandError
from trainer.exercise.song import Song
from trainer.files.coding import code_clip
from trainer.files.folders import choose_data_folder
from trainer.files.paths import identify_file
from trainer.files.sound_reading import describe_own_song, read_song
from trainer.files.target_reading import list_targets
from trainer.measure.loudness import measure_integrated_lufs
from trainer.measure.standards import CEILING_DBTP
from trainer.measure.true_peak import measure_true_peak
from trainer.workshop.desk import Tell

OUTLINE_COLUMNS = 200
# A mix, ten references and a bounce.
MOST_SONGS = 12
TITLES = {"loudest": "a loud stretch", "quiet": "a quiet stretch"}


@dataclass(frozen=True)
class OpenedSong:
    """Hold a song that was read and measured."""

    song: Song
    evidence: Evidence

    @property
    def clip(self) -> Clip:
        """Its sound at the rate of work."""
        return self.song.clip


class MixDesk:
    """Do the works on a mix.

    Parameters
    ----------
    conditions : Conditions
        Where targets of one's own lie.
    """

    def __init__(self, conditions: Conditions) -> None:
        self._conditions = conditions
        self._songs: dict[tuple[str, int, int], OpenedSong] = {}
        self._comparison: Comparison | None = None
        self._works: dict[type, Callable[[Any, Tell], Any]] = {
            OpenMix: self._open,
            HearSong: self._hear_song,
            CompareSongs: self._compare,
            HearBeside: self._hear_beside,
            Propose: self._propose,
            HearMoves: self._hear_moves,
            TryRungs: self._try_rungs,
            HearSystems: self._hear_systems,
            MakeBounce: self._bounce,
            CheckFile: self._check,
        }

    def knows(self, job: Any) -> bool:
        """Tell whether a job is one of these."""
        return type(job) in self._works

    def do(self, job: Any, tell: Tell) -> Any:
        """Do a job."""
        return self._works[type(job)](job, tell)

    def _open(self, job: OpenMix, tell: Tell) -> MixOpened:
        """Read a mix, measure it, look for faults, and propose its fades."""
        opened = self._read(job.path, tell)
        form, programme = opened.evidence.form, opened.evidence.programme
        proposal = propose_fades(opened.clip, opened.evidence)
        mix = MixFile(
            str(Path(job.path).expanduser().resolve()),
            opened.song.sha256,
            form.sample_rate_hz,
            programme.duration_s,
            programme.loudness.integrated_lufs,
            programme.peaks.true_peak_dbtp,
        )
        findings = tuple(
            Finding(each.kind, each.start_s, each.end_s, measured=True, strength=each.strength, unit=each.unit)
            for each in opened.evidence.scan.faults
        )
        return MixOpened(mix, examine_mix(opened.evidence), findings, proposal.fades, proposal.reasons)

    def _hear_song(self, job: HearSong, tell: Tell) -> SongHeard:
        """Give a file, or a part of it, as it is heard from start to end."""
        clip = self._read(job.path, tell).clip
        if job.fades is not None:
            last_s = min(job.fades.end_s or clip.duration_s, clip.duration_s)
            first = round(job.fades.start_s * clip.rate_hz)
            part = clip.with_samples(clip.samples[first : round(last_s * clip.rate_hz)])
            faded = fade_clip(part, job.fades.fade_in_s, job.fades.fade_out_s, job.fades.curve)
            start_s, shown = max(job.start_s, job.fades.start_s), faded
            offset = round((start_s - job.fades.start_s) * clip.rate_hz)
        else:
            start_s, shown, offset = job.start_s, clip, round(job.start_s * clip.rate_hz)
        end = shown.frames if job.end_s is None else min(shown.frames, round(job.end_s * clip.rate_hz))
        played, lufs = _bring_to_level(clip, shown.with_samples(shown.samples[offset:end]))
        outline = outline_loop(played.samples, OUTLINE_COLUMNS)
        return SongHeard(played.samples[None].astype(np.float32), clip.rate_hz, outline, start_s, lufs)

    def _compare(self, job: CompareSongs, tell: Tell) -> SongsCompared:
        """Set a mix beside references; what cannot be compared is told and left out."""
        mix = self._read_balance(job.path, tell, 0.0, 0.3)
        songs: dict[str, SongBalance] = {}
        refused: list[str] = []
        for number, path in enumerate(job.references):
            share = 0.3 + 0.7 * number / max(1, len(job.references))
            try:
                songs[path] = self._read_balance(path, tell, share, share + 0.7 / len(job.references))
            except EvenhandError as error:
                refused.append(str(error))
        self._comparison = found = compare_balance(mix, tuple(songs.values()))
        proposals = propose_balance(found)
        kept = {each.sha256 for each in found.references}
        paths = tuple(path for path, each in songs.items() if each.sha256 in kept)
        rows = tuple(BandMarks(name_short(row), row.mix_db, row.references_db) for row in found.rows if is_shown(row))
        opened = self._read(job.path, tell)
        return SongsCompared(
            rows,
            tuple(songs[path].sha256 for path in paths),
            paths,
            tuple(measure_candidate(opened.clip, each) for each in proposals.candidates),
            proposals.back_to_mix,
            (*found.warnings, *word_rows(found), *((proposals.note,) if proposals.note else ())),
            (*refused, *(str(error) for error in found.refused)),
        )

    def _hear_beside(self, job: HearBeside, tell: Tell) -> VersionsHeard:
        """Give the loudest stretch of a mix and of its references, equally loud."""
        paths = (job.path, *job.references)
        opened = [self._read(path, tell) for path in paths]
        rate_hz = opened[0].clip.rate_hz
        loops, stretches = [], []
        for each in opened:
            stretch = choose_stretches(each.clip, each.evidence)["loudest"]
            loops.append(resample_clip(cut_stretches(each.clip, (stretch,))[0], rate_hz))
            stretches.append((stretch.start_s, stretch.end_s))
        frames = min(loop.frames for loop in loops)
        matched = match_versions(tuple(loop.with_samples(loop.samples[:frames]) for loop in loops))
        sounds = np.stack([each.loop.samples for each in matched])
        names = ("your mix", *(Path(path).name for path in job.references))
        outline = outline_loop(sounds[0], OUTLINE_COLUMNS)
        loudness = matched[0].loudness_lufs
        return VersionsHeard(
            (sounds,), rate_hz, (stretches[0],), names, (), loudness, spread_lu(matched), (outline,), kind="named"
        )

    def _propose(self, job: Propose, tell: Tell) -> Proposed:
        """Check the very bottom, or find candidates for sweetening."""
        opened = self._read(job.path, tell)
        if job.step == "balance":
            tell(0.5, "Running a high-pass over the song")
            found = check_high_pass(opened.clip)
            return Proposed("balance", (found.candidate,), found.reasons)
        loud = choose_stretches(opened.clip, opened.evidence)["loudest"]
        proposals = propose_sweetening(
            opened.clip,
            opened.evidence,
            loud,
            job.kept,
            self._comparison,
            lambda share: tell(0.3 + 0.7 * share, "Trying moves on the whole song"),
        )
        left = tuple(f"{MOVES[each.move].title}: {each.reason}" for each in proposals.left_out)
        return Proposed("sweetening", proposals.candidates, left)

    def _hear_moves(self, job: HearMoves, tell: Tell) -> VersionsHeard:
        """Render the song with and without some moves, and cut where both are heard."""
        opened = self._read(job.path, tell)
        last = make_push(job.loudness) if job.loudness is not None else None
        chains = [list_steps(job.without), list_steps(job.with_them)]
        if last is not None:
            chains = [(*chains[0], last) if job.both_loud else chains[0], (*chains[1], last)]
        if job.places == "whole":
            stretches = choose_last_stretches(opened.clip, opened.evidence)
        else:
            stretches = choose_stretches(opened.clip, opened.evidence)
        tell(0.4, "Rendering both versions")
        loops = cut_versions(opened.clip, chains, stretches)
        results: dict[str, float] = {}
        added = [each for each in job.with_them if each not in job.without]
        if len(added) == 1 and last is None:
            tell(0.8, "Measuring the whole song")
            results = measure_candidate(opened.clip, added[0], job.without).results
        hashes = tuple(_hash(opened.song.sha256, chain) for chain in chains)
        return _gather(opened, loops, hashes, results)

    def _try_rungs(self, job: TryRungs, tell: Tell) -> VersionsHeard:
        """Find the drive for each rung on the whole song, what it costs, and let all be heard."""
        opened = self._read(job.path, tell)
        stretches = choose_stretches(opened.clip, opened.evidence)
        found = try_rungs(
            opened.clip,
            job.kept,
            job.asked_lufs,
            job.ceiling_dbtp,
            job.playback_lufs,
            lambda share: tell(0.2 + 0.7 * share, "Driving the whole song into the limiter"),
            tuple(stretches.values()),
        )
        if not found.loudness.rungs:
            raise EvenhandError("\n".join(found.refused))
        tell(0.9, "Matching")
        loops = tuple(
            StretchLoops(name, place, match_versions(tuple(rung[number] for rung in found.loops)))
            for number, (name, place) in enumerate(stretches.items())
        )
        kept, count = list_steps(job.kept), len(found.loudness.rungs)
        hashes = tuple(_hash(opened.song.sha256, (*kept, *found.list_steps(number))) for number in range(count))
        heard = _gather(opened, loops, hashes, {})
        return replace(heard, loudness=found.loudness, refused=found.refused, kind="rungs")

    def _hear_systems(self, job: HearSystems, tell: Tell) -> VersionsHeard:
        """Give the kept moves as small systems let them through."""
        opened = self._read(job.path, tell)
        loud = choose_stretches(opened.clip, opened.evidence)["loudest"]
        made = cut_versions(opened.clip, (list_steps(job.kept),), {"loudest": loud})[0]
        matched = play_on_systems(made.versions[0].loop)
        sounds = np.stack([each.loop.samples for each in matched])
        names = ("as it is", *(system.title.lower() for system in SYSTEMS.values()))
        outline = outline_loop(sounds[0], OUTLINE_COLUMNS)
        place, lufs = (loud.start_s, loud.end_s), matched[0].loudness_lufs
        rate_hz = opened.clip.rate_hz
        return VersionsHeard(
            (sounds,), rate_hz, (place,), names, (), lufs, spread_lu(matched), (outline,), kind="named"
        )

    def _bounce(self, job: MakeBounce, tell: Tell) -> BounceChecked:
        """Make a file from a sheet, and check it."""
        mix = Path(job.sheet.mix.path)
        result = bounce_sheet(
            self._conditions, job.sheet, mix, BounceWish(job.out, force=job.force), code_clip, Watch(tell)
        )
        return BounceChecked(result.bounced, word_checked(result, self._list_titles()))

    def _check(self, job: CheckFile, tell: Tell) -> BounceChecked:
        """Check a file against a sheet's targets and its loudness."""
        tell(0.1, "Reading the file")
        result = check_against_sheet(self._conditions, job.sheet, Path(job.path).expanduser(), code_clip)
        return BounceChecked(result.bounced, word_checked(result, self._list_titles()))

    def _list_titles(self) -> dict[str, str]:
        """List the titles of the targets there are."""
        targets = list_targets(choose_data_folder(self._conditions.data))
        return {name: target.title for name, target in targets.items()}

    def _read_balance(self, path: str, tell: Tell, low: float, high: float) -> SongBalance:
        """Read what a comparison needs of a song."""
        opened = self._read(path, lambda share, words: tell(low + (high - low) * share, words))
        form = opened.evidence.form
        return read_balance(Path(path).name, opened.clip, form, opened.evidence.programme, opened.song.sha256)

    def _read(self, path: str, tell: Tell) -> OpenedSong:
        """Read and measure a song, or take it as it was read."""
        place = Path(path).expanduser()
        key = identify_file(path)
        if key not in self._songs:
            tell(0.02, f"Reading {place.name}")
            song = read_song(describe_own_song(path))
            tell(0.1, f"Measuring {place.name}")
            self._songs[key] = OpenedSong(song, gather_evidence(str(place)))
            while len(self._songs) > MOST_SONGS:
                self._songs.pop(next(iter(self._songs)))
        return self._songs[key]


def _bring_to_level(song: Clip, part: Clip) -> tuple[Clip, float]:
    """Bring a part of a song to the level of play, by the song as a whole; its peaks stay under the ceiling."""
    lufs = measure_integrated_lufs(song.samples, song.rate_hz)
    peak = measure_true_peak(song.samples, song.rate_hz).dbtp
    gain_db = min(PLAYED_LUFS - lufs, CEILING_DBTP - PEAK_MARGIN_DB - peak)
    return turn_loop(part, gain_db), lufs + gain_db


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
