"""The desk's work on a mix and its references: compared row by row, and heard beside each other, whole or in bands."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from trainer.app.mix_words import is_shown, name_short
from trainer.app.song_shelf import OUTLINE_COLUMNS, SongShelf, tell_share, tell_stage
from trainer.audio.clip import Clip
from trainer.audio.loops import outline_loop
from trainer.audio.resampling import resample_clip
from trainer.decisions.balance import Comparison, compare_balance
from trainer.decisions.balance_moves import propose_balance
from trainer.decisions.balance_parts import PARTS, choose_length_s, find_part, hear_parts
from trainer.decisions.balance_reading import SongBalance, read_balance
from trainer.decisions.balance_words import word_rows
from trainer.decisions.candidate_loops import choose_stretches, cut_stretches, match_versions
from trainer.decisions.mix_jobs import BandMarks, CompareSongs, HearBeside, SongsCompared, VersionsHeard
from trainer.decisions.song_results import measure_candidate
from trainer.dsp.matching import spread_lu
from trainer.errors import EvenhandError
from trainer.workshop.desk import Tell

READ_SHARE = 0.5


class BalanceDesk:
    """Set a mix beside references.

    Parameters
    ----------
    shelf : SongShelf
        Where songs are read.
    """

    def __init__(self, shelf: SongShelf) -> None:
        self._shelf = shelf
        self.comparison: Comparison | None = None
        self.works: dict[type, Callable[[Any, Tell], Any]] = {
            CompareSongs: self._compare,
            HearBeside: self._hear_beside,
        }

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
        self.comparison = found = compare_balance(mix, tuple(songs.values()))
        proposals = propose_balance(found)
        kept = {each.sha256 for each in found.references}
        paths = tuple(path for path, each in songs.items() if each.sha256 in kept)
        opened = self._shelf.read(job.path, tell)
        return SongsCompared(
            tuple(
                BandMarks(name_short(row), row.mix_db, row.references_db, row.kind, find_part(row))
                for row in found.rows
                if is_shown(row)
            ),
            tuple(songs[path].sha256 for path in paths),
            paths,
            tuple(measure_candidate(opened.clip, each) for each in proposals.candidates),
            proposals.back_to_mix,
            (*found.warnings, *word_rows(found)),
            (*refused, *(str(error) for error in found.refused)),
            proposals.note,
        )

    def _hear_beside(self, job: HearBeside, tell: Tell) -> VersionsHeard:
        """Give the loudest stretch of a mix and of its references, equally loud, and each of its bands alone."""
        paths = (job.path, *job.references)
        length_s = choose_length_s(len(paths))
        loops: list[Clip] = []
        stretches = []
        for number, path in enumerate(paths):
            low, width = READ_SHARE * number / len(paths), READ_SHARE / len(paths)
            opened = self._shelf.read(path, tell_stage(tell, low, width))
            stretch = choose_stretches(opened.clip, opened.evidence, length_s)["loudest"]
            rate_hz = loops[0].rate_hz if loops else opened.clip.rate_hz
            loops.append(resample_clip(cut_stretches(opened.clip, (stretch,))[0], rate_hz))
            stretches.append((stretch.start_s, stretch.end_s))
        frames = min(loop.frames for loop in loops)
        matched = match_versions(tuple(loop.with_samples(loop.samples[:frames]) for loop in loops))
        heard = hear_parts(
            tuple(each.loop for each in matched),
            tell_share(tell, READ_SHARE, 1 - READ_SHARE, "Making the bands"),
        )
        return VersionsHeard(
            (heard.sounds,),
            loops[0].rate_hz,
            (stretches[0],),
            ("your mix", *(Path(path).name for path in job.references)),
            (),
            matched[0].loudness_lufs + heard.turned_db,
            spread_lu(matched),
            (outline_loop(matched[0].loop.samples, OUTLINE_COLUMNS),),
            kind="named",
            parts=tuple(PARTS),
        )

    def _read_balance(self, path: str, tell: Tell, low: float, high: float) -> SongBalance:
        """Read what a comparison needs of a song."""
        opened = self._shelf.read(path, tell_stage(tell, low, high - low))
        form = opened.evidence.form
        return read_balance(Path(path).name, opened.clip, form, opened.evidence.programme, opened.song.sha256)
