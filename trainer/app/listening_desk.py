"""The desk's work on a pass: a whole song, a place in it, and its head and tail with a fade that is tried."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from trainer.app.song_shelf import OUTLINE_COLUMNS, OpenedSong, SongShelf, tell_stage
from trainer.audio.clip import Clip
from trainer.audio.fades import fade_clip
from trainer.audio.loops import outline_loop
from trainer.decisions.fade_proposals import FadeCheck, check_fades
from trainer.decisions.fade_steps import RAMP_S, cut_edge, leave_edge
from trainer.decisions.mix_jobs import EdgeHeard, HearEdge, HearSong, SongHeard, Sounds
from trainer.decisions.song_edges import read_edges
from trainer.dsp.matching import PEAK_MARGIN_DB, PLAYED_LUFS, turn_loop
from trainer.measure.loudness import measure_integrated_lufs
from trainer.measure.standards import CEILING_DBTP
from trainer.measure.true_peak import measure_true_peak
from trainer.workshop.desk import Tell


class ListeningDesk:
    """Let a song be heard from start to end, and at its ends.

    Parameters
    ----------
    shelf : SongShelf
        Where songs are read.
    """

    def __init__(self, shelf: SongShelf) -> None:
        self._shelf = shelf
        self._levels: dict[str, tuple[float, float]] = {}
        self._plain: dict[tuple[str, str], FadeCheck] = {}
        self.works: dict[type, Callable[[Any, Tell], Any]] = {
            HearSong: self._hear_song,
            HearEdge: self._hear_edge,
        }

    def _hear_song(self, job: HearSong, tell: Tell) -> SongHeard:
        """Give a file, or a part of it, as it is heard from start to end."""
        opened = self._shelf.read(job.path, tell_stage(tell, 0.0, 0.9))
        clip, rate = opened.clip, opened.clip.rate_hz
        first = round(job.start_s * rate)
        last = clip.frames if job.end_s is None else min(clip.frames, round(job.end_s * rate))
        part = clip.with_samples(clip.samples[first:last])
        # A place is heard round and round: where the song is cut into there is a ramp, not a click.
        rise_s, fall_s = (min(RAMP_S, part.duration_s / 2) if cut else 0.0 for cut in (first > 0, last < clip.frames))
        gain_db, lufs = self._find_level(opened)
        played = turn_loop(fade_clip(part, rise_s, fall_s), gain_db)
        outline = outline_loop(played.samples, OUTLINE_COLUMNS)
        return SongHeard(played.samples[None].astype(np.float32), rate, outline, job.start_s, lufs)

    def _hear_edge(self, job: HearEdge, tell: Tell) -> EdgeHeard:
        """Give one end of a mix with a fade and as it is, and measure both."""
        opened = self._shelf.read(job.path, tell_stage(tell, 0.0, 0.4))
        plain, faded, start_s = cut_edge(opened.clip, job.fades, job.edge, read_edges(opened.evidence))
        # Where a song is cut into without a fade, its true peak may be higher than anywhere in the song.
        highest = max(measure_true_peak(each.samples, each.rate_hz).dbtp for each in (plain, faded))
        gain_db = min(self._find_level(opened)[0], CEILING_DBTP - PEAK_MARGIN_DB - highest)
        tell(0.5, "Measuring the fade")
        fade = check_fades(opened.clip, job.fades, (job.edge,))
        tell(0.8, "Measuring the song without it")
        sounds = np.stack([turn_loop(each, gain_db).samples for each in (faded, plain)])
        return EdgeHeard(
            job.fades,
            job.edge,
            sounds,
            plain.rate_hz,
            _outline_both(sounds),
            start_s,
            fade,
            self._check_plain(opened, job),
        )

    def _check_plain(self, opened: OpenedSong, job: HearEdge) -> FadeCheck:
        """Measure an end as the file has it, once."""
        key = opened.song.sha256, job.edge
        if key not in self._plain:
            self._plain[key] = check_fades(opened.clip, leave_edge(job.fades, job.edge), (job.edge,))
        return self._plain[key]

    def _find_level(self, opened: OpenedSong) -> tuple[float, float]:
        """Find the gain to the level of play by the song as a whole, dB, its peaks kept under the ceiling; and LUFS."""
        if opened.song.sha256 not in self._levels:
            self._levels[opened.song.sha256] = _measure_level(opened.clip)
        lufs, peak_dbtp = self._levels[opened.song.sha256]
        gain_db = min(PLAYED_LUFS - lufs, CEILING_DBTP - PEAK_MARGIN_DB - peak_dbtp)
        return gain_db, lufs + gain_db


def _outline_both(sounds: Sounds) -> tuple[tuple[float, ...], ...]:
    """Outline what is heard of both versions on one scale, so that eye and ear agree."""
    highest = max(float(np.abs(sounds).max()), 1e-9)
    outlined = ((outline_loop(each, OUTLINE_COLUMNS), float(np.abs(each).max()) / highest) for each in sounds)
    return tuple(tuple(peak * share for peak in outline) for outline, share in outlined)


def _measure_level(song: Clip) -> tuple[float, float]:
    """Measure loudness, LUFS, and true peak, dBTP, of a whole song at the rate it is worked on."""
    return measure_integrated_lufs(song.samples, song.rate_hz), measure_true_peak(song.samples, song.rate_hz).dbtp
