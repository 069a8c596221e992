"""Where a song starts and ends, the fades that follow from it, and whether it begins and ends cleanly with them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from trainer.audio.clip import Clip
from trainer.audio.fades import fade_clip
from trainer.decisions.evidence import Evidence
from trainer.decisions.sheet import Fades
from trainer.decisions.song_edges import EDGES, INAUDIBLE_LUFS, PLAYING_LU, Edge, SongEdges, read_edges
from trainer.errors import BadValue
from trainer.measure.faults.finding import Finding
from trainer.measure.faults.scan import scan_faults
from trainer.measure.loudness_trace import to_lufs
from trainer.units import write_number

Bars = tuple[float, float]

# Common practice, no source: a moment before the first sound, a fade there that no attack is caught by; a few
# milliseconds where the file begins within a sound; at the end, a fade under what is left of the room.
HEAD_S, HEAD_FADE_S, CUT_IN_S = 0.1, 0.05, 0.003
TAIL_S, TAIL_FADE_S, NOISY_FADE_S, CUT_OUT_S = 0.3, 0.5, 1.5, 0.02
# A song that stops while it plays is faded over whole bars of about this.
SONG_FADE_S, LONGEST_SHARE = 8.0, 0.25
HEARD_NOISE_LUFS = -72.0
CHECKED_S = 5.0
EDGE_KINDS = ("click", "pop", "abrupt_start", "abrupt_end", "head_noise")
TAIL_KINDS = ("click", "pop", "abrupt_end")
SONGS_OWN = ("click", "pop")
BESIDE_S, SAME_S = 1.0, 0.005


@dataclass(frozen=True)
class FadeProposal:
    """Hold what was found at both ends of a song, and the fades that are proposed.

    Parameters
    ----------
    fades : Fades
        Start, end, lengths, s, and curves.
    edges : SongEdges
        What was found.
    reasons : tuple of str
        Why, a sentence for either end.
    """

    fades: Fades
    edges: SongEdges
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class FadeCheck:
    """Say how a song begins and ends with its fades.

    Parameters
    ----------
    first_dbfs, last_dbfs : float
        Highest sample of the first and of the last millisecond; minus infinity for silence.
    first_step_dbfs, last_step_dbfs : float
        Largest step from one sample to the next in these, with silence before the first and behind the last one.
    faults : tuple of Finding
        Clicks, pops, cuts and noise within the fades and a second beside them.
    cut_lufs, cut_before_lufs : float
        Momentary loudness, over 100 ms, of what lies behind the end, and before the start; minus infinity where nothing
        does.
    """

    first_dbfs: float
    last_dbfs: float
    faults: tuple[Finding, ...]
    cut_lufs: float
    first_step_dbfs: float = -math.inf
    last_step_dbfs: float = -math.inf
    cut_before_lufs: float = -math.inf

    @property
    def clean(self) -> bool:
        """Whether nothing of it is heard as a fault."""
        return not self.faults


def propose_fades(song: Clip, evidence: Evidence, bars: Bars | None = None) -> FadeProposal:
    """Propose where a song starts and ends, and how it is faded there.

    Parameters
    ----------
    song : Clip
        The mix.
    evidence : Evidence
        What was measured of it: its course of loudness, its edges, noise at its head.
    bars : (float, float), optional
        First downbeat and length of a bar, s: a fade of a song that stops while it plays begins on a bar then.

    Returns
    -------
    FadeProposal

    Raises
    ------
    BadValue
        If the song is silent.
    """
    edges, duration_s = read_edges(evidence), song.duration_s
    start_s, fade_in_s, first = _propose_head(evidence, edges)
    end_s, fade_out_s, last = _propose_tail(duration_s, edges, bars)
    fade_out_s = min(fade_out_s, max(0.0, end_s - start_s - fade_in_s))
    fades = Fades(round(start_s, 4), round(fade_in_s, 4), round(end_s, 4), round(fade_out_s, 4))
    return FadeProposal(fades, edges, (first, last))


def apply_fades(song: Clip, fades: Fades) -> Clip:
    """Trim a song and fade it; without trims and fades it stays as it is.

    Raises
    ------
    BadValue
        If there is nothing between start and end, or the fades are longer than that.
    """
    end_s = song.duration_s if fades.end_s is None else min(fades.end_s, song.duration_s)
    first, last = round(max(fades.start_s, 0.0) * song.rate_hz), round(end_s * song.rate_hz)
    if last <= first:
        raise BadValue("fades", "end_s", f"{end_s:g}", f"more than start_s, {fades.start_s:g} s")
    trimmed = song if (first, last) == (0, song.frames) else song.with_samples(song.samples[first:last])
    if fades.fade_in_s == 0 and fades.fade_out_s == 0:
        return trimmed
    return fade_clip(trimmed, fades.fade_in_s, fades.fade_out_s, fades.curve_in, fades.curve_out)


def check_fades(song: Clip, fades: Fades, edges: Sequence[Edge] = EDGES) -> FadeCheck:
    """Fade a song and look for faults at its ends.

    Parameters
    ----------
    song : Clip
        The mix, or the master before its fades.
    fades : Fades
        Start, end, lengths, curves.
    edges : sequence of str
        Where faults are looked for: ``head``, ``tail``, or both.

    Returns
    -------
    FadeCheck
        Read from the faded sound; what is cut off, from the song. Clicks and pops that the song itself has there are
        not the fades', and are left out.
    """
    faded, rate = apply_fades(song, fades), song.rate_hz
    found: list[Finding] = []
    for edge in edges:
        there = [each for each in _look(faded, fades, edge) if each not in found]
        if any(each.kind in SONGS_OWN for each in there):
            plain = _look(apply_fades(song, replace(fades, fade_in_s=0.0, fade_out_s=0.0)), fades, edge)
            there = [each for each in there if not any(_is_same(each, other) for other in plain)]
        found += there
    before = song.samples[: round(max(fades.start_s, 0.0) * rate)]
    behind = song.samples[round((song.duration_s if fades.end_s is None else fades.end_s) * rate) :]
    edge_frames = max(1, rate // 1000)
    first, last = faded.samples[:edge_frames], faded.samples[-edge_frames:]
    steps = _find_step(first), _find_step(last[::-1])
    cuts = _loudest(behind, rate), _loudest(before, rate)
    return FadeCheck(_peak(first), _peak(last), tuple(found), cuts[0], *steps, cuts[1])


def _look(faded: Clip, fades: Fades, edge: Edge) -> list[Finding]:
    """Look for faults within a fade and a second beside it, in the song's time."""
    fade_s = fades.fade_in_s if edge == "head" else fades.fade_out_s
    part = min(faded.frames, round(max(CHECKED_S, fade_s + BESIDE_S) * faded.rate_hz))
    ends_s = fades.start_s + faded.duration_s
    if edge == "head":
        until_s = fades.start_s + fades.fade_in_s + BESIDE_S
        head = _scan(faded.samples[:part], faded.rate_hz, fades.start_s)
        return [each for each in head if each.kind != "abrupt_end" and each.start_s <= until_s]
    from_s = ends_s - fades.fade_out_s - BESIDE_S
    tail = _scan(faded.samples[faded.frames - part :], faded.rate_hz, ends_s - part / faded.rate_hz)
    return [each for each in tail if each.kind in TAIL_KINDS and each.start_s >= from_s]


def _propose_head(evidence: Evidence, edges: SongEdges) -> tuple[float, float, str]:
    """Propose start and fade-in, and say why."""
    music, noise = edges.music_from_s, edges.head_noise_lufs
    cut = any(finding.kind == "abrupt_start" for finding in evidence.scan.faults)
    if noise is not None:
        start = max(0.0, music - HEAD_S)
        reason = (
            f"Noise of {write_number(noise)} LUFS lies before the music, which starts at {write_number(music, 2)} s: "
            "start just before it."
        )
        return start, min(HEAD_FADE_S, music - start), reason
    if cut or music < CUT_IN_S:
        how = "begins within a sound" if cut else "begins with the first sound"
        return 0.0, CUT_IN_S, f"The file {how}: a fade of {1000 * CUT_IN_S:.0f} ms, and no trim."
    start = max(0.0, music - HEAD_S)
    reason = f"The first sound is at {write_number(music, 2)} s"
    reason += f": start {write_number(music - start, 2)} s before it." if start > 0 else ": nothing to trim."
    return start, min(HEAD_FADE_S, 0.9 * (music - start)), reason


def _propose_tail(duration_s: float, edges: SongEdges, bars: Bars | None) -> tuple[float, float, str]:
    """Propose end and fade-out, and say why."""
    room_s, floor = edges.room_ends_s, edges.floor_lufs
    if room_s is not None:
        noisy = floor > HEARD_NOISE_LUFS
        end = min(duration_s, room_s + (NOISY_FADE_S if noisy else TAIL_S))
        fade = min(end, max(end - room_s, CUT_OUT_S) if noisy else min(TAIL_FADE_S, end - room_s + TAIL_FADE_S / 2))
        left = "silence" if floor <= INAUDIBLE_LUFS else f"noise of {write_number(floor)} LUFS"
        return end, fade, f"The room ends at {write_number(room_s, 2)} s, and {left} is left: the fade comes after it."
    if floor > edges.song_lufs - PLAYING_LU:
        fade = _fade_over_bars(duration_s, bars)
        where = " from a bar line" if bars is not None else ""
        return duration_s, fade, f"The file stops while the song plays: a fade of {write_number(fade)} s{where}."
    fade = min(0.1 * duration_s, TAIL_FADE_S)
    return (
        duration_s,
        fade,
        f"The file ends before the room does, at {write_number(floor)} LUFS: bounce it longer, or take this fade of "
        f"{write_number(fade)} s.",
    )


def _fade_over_bars(duration_s: float, bars: Bars | None) -> float:
    """Choose the length of a fade to the end of the file that begins on a bar line, if there are bars."""
    wished = min(SONG_FADE_S, LONGEST_SHARE * duration_s)
    if bars is None:
        return wished
    first_s, length_s = bars
    begins = first_s + max(0, round((duration_s - wished - first_s) / length_s)) * length_s
    return duration_s - begins if 0 < duration_s - begins <= 2 * LONGEST_SHARE * duration_s else wished


def _scan(samples: npt.NDArray[np.float32], rate_hz: int, from_s: float) -> list[Finding]:
    """Look for what may be wrong with a piece that begins at a moment of the song."""
    return [
        replace(each, start_s=round(each.start_s + from_s, 6), end_s=round(each.end_s + from_s, 6))
        for each in scan_faults(samples, rate_hz)[1].faults
        if each.kind in EDGE_KINDS
    ]


def _is_same(one: Finding, other: Finding) -> bool:
    """Tell whether two findings are one fault; a cut that is still there behind a fade is none of these."""
    return one.kind == other.kind and one.kind in SONGS_OWN and abs(one.start_s - other.start_s) < SAME_S


def _peak(samples: npt.NDArray[np.float32]) -> float:
    top = float(np.abs(samples).max(initial=0.0))
    return 20 * math.log10(top) if top > 0 else -math.inf


def _find_step(samples: npt.NDArray[np.float32]) -> float:
    """Give the largest step between samples that silence lies before, dBFS."""
    return _peak(np.diff(samples, axis=0, prepend=np.zeros((1, samples.shape[1]), np.float32)))


def _loudest(samples: npt.NDArray[np.float32], rate_hz: int) -> float:
    """Give the plain level of the loudest 100 ms of a rest, about LUFS; minus infinity where there is none."""
    length = max(1, rate_hz // 10)
    power = (samples.astype(np.float64) ** 2).sum(axis=1)
    if power.size == 0:
        return -math.inf
    parts = np.add.reduceat(power, np.arange(0, power.size, length)) / length
    return float(to_lufs(np.array([parts.max()]))[0])
