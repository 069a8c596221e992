"""Where a song starts and ends, the fades that follow from it, and whether it begins and ends cleanly with them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from trainer.audio.clip import Clip
from trainer.audio.fades import fade_clip
from trainer.decisions.evidence import Evidence
from trainer.decisions.sheet import Fades
from trainer.errors import BadValue
from trainer.measure import standards
from trainer.measure.faults.finding import Finding
from trainer.measure.faults.scan import scan_faults
from trainer.measure.loudness_trace import to_lufs
from trainer.measure.steps import STEP_S
from trainer.units import write_number

Steps = npt.NDArray[np.float64]
Bars = tuple[float, float]

# Common practice, no source: a moment before the first sound, a fade there that no attack is caught by; a few
# milliseconds where the file begins within a sound; at the end, a fade under what is left of the room.
HEAD_S, HEAD_FADE_S, CUT_IN_S = 0.1, 0.05, 0.003
TAIL_S, TAIL_FADE_S, NOISY_FADE_S, CUT_OUT_S = 0.3, 0.5, 1.5, 0.02
# A song that stops while it plays is faded over whole bars of about this.
SONG_FADE_S, LONGEST_SHARE = 8.0, 0.25
# The room is at its floor where it stays within this of the softest of what follows, or below where nobody hears it.
OVER_FLOOR_DB, INAUDIBLE_LUFS, HEARD_NOISE_LUFS = 3.0, -80.0, -72.0
SMOOTH_STEPS = 10
# A file whose last tenth of a second is so near to the loudness of the song stops while it plays.
PLAYING_LU, RINGING_LUFS = 20.0, -70.0
CHECKED_S = 5.0
EDGE_KINDS = ("click", "pop", "abrupt_start", "abrupt_end", "head_noise")
TAIL_KINDS = ("click", "pop", "abrupt_end")
BESIDE_S, SAME_S = 1.0, 0.005


@dataclass(frozen=True)
class FadeProposal:
    """Hold what was found at both ends of a song, and the fades that are proposed.

    Parameters
    ----------
    fades : Fades
        Start, end, lengths, s, and curve.
    music_from_s : float
        Where the first sound of the music is.
    head_noise_lufs : float or None
        Loudness of what is heard before it; None where nothing is.
    room_ends_s : float or None
        Where the last sound has fallen into the floor; None where the file ends before that.
    floor_lufs : float
        Loudness of what is left then; minus infinity for digital silence.
    reasons : tuple of str
        Why, a sentence for either end.
    """

    fades: Fades
    music_from_s: float
    head_noise_lufs: float | None
    room_ends_s: float | None
    floor_lufs: float
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class FadeCheck:
    """Say how a song begins and ends with its fades.

    Parameters
    ----------
    first_dbfs, last_dbfs : float
        Highest sample of the first and of the last millisecond; minus infinity for silence.
    faults : tuple of Finding
        Clicks, pops, cuts and noise within the fades and a second beside them.
    cut_lufs : float
        Momentary loudness, over 100 ms, of what lies behind the end; minus infinity where nothing does.
    """

    first_dbfs: float
    last_dbfs: float
    faults: tuple[Finding, ...]
    cut_lufs: float

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
    trace = evidence.programme.loudness
    if evidence.scan.edges.head_silence_s is None or not math.isfinite(trace.integrated_lufs):
        raise BadValue(evidence.form.file, "loudness_lufs", "−∞", "a song with sound in it")
    levels = _smooth(trace.power)
    start_s, fade_in_s, music_s, noise, first = _propose_head(evidence)
    room_s, floor = find_room_end(levels, trace.integrated_lufs)
    end_s, fade_out_s, last = _propose_tail(song.duration_s, levels, trace.integrated_lufs, room_s, floor, bars)
    fade_out_s = min(fade_out_s, max(0.0, end_s - start_s - fade_in_s))
    fades = Fades(round(start_s, 4), round(fade_in_s, 4), round(end_s, 4), round(fade_out_s, 4))
    return FadeProposal(fades, music_s, noise, room_s, floor, (first, last))


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
    return fade_clip(trimmed, fades.fade_in_s, fades.fade_out_s, fades.curve)


def check_fades(song: Clip, fades: Fades) -> FadeCheck:
    """Fade a song and look for faults at both of its ends.

    Parameters
    ----------
    song : Clip
        The mix, or the master before its fades.
    fades : Fades
        Start, end, lengths, curve.

    Returns
    -------
    FadeCheck
        Read from the faded sound; what is cut off, from the song. Clicks and pops that the song itself has there are
        not the fades', and are left out.
    """
    faded, plain = apply_fades(song, fades), apply_fades(song, replace(fades, fade_in_s=0.0, fade_out_s=0.0))
    rate = song.rate_hz
    part = min(faded.frames, round(CHECKED_S * rate))
    ends = ((slice(0, part), fades.start_s), (slice(faded.frames - part, None), fades.start_s + faded.duration_s))
    head, tail = (_scan(faded.samples[where], rate, at_s, at_s > fades.start_s) for where, at_s in ends)
    known = [each for where, at_s in ends for each in _scan(plain.samples[where], rate, at_s, at_s > fades.start_s)]
    head_until_s = fades.start_s + fades.fade_in_s + BESIDE_S
    tail_from_s = fades.start_s + faded.duration_s - fades.fade_out_s - BESIDE_S
    found = [each for each in head if each.kind != "abrupt_end" and each.start_s <= head_until_s]
    found += [each for each in tail if each.kind in TAIL_KINDS and each.start_s >= tail_from_s and each not in found]
    new = tuple(each for each in found if not any(_is_same(each, other) for other in known))
    behind = song.samples[round((song.duration_s if fades.end_s is None else fades.end_s) * rate) :]
    edge = max(1, rate // 1000)
    return FadeCheck(_peak(faded.samples[:edge]), _peak(faded.samples[-edge:]), new, _loudest(behind, rate))


def find_room_end(levels: Steps, integrated_lufs: float) -> tuple[float | None, float]:
    """Find where the last sound of a song has fallen into what is left behind it.

    Parameters
    ----------
    levels : ndarray, shape (steps,)
        Loudness over 100 ms, every 10 ms, LUFS.
    integrated_lufs : float
        Of the song.

    Returns
    -------
    tuple of (float or None, float)
        Where, s, or None where the file ends before; and the loudness of the floor, LUFS.
    """
    loud = np.flatnonzero(levels > integrated_lufs + standards.RELATIVE_GATE_LU)
    last = int(loud[-1]) if loud.size else 0
    tail = levels[last:]
    floor = float(tail[-SMOOTH_STEPS:].max())
    over = np.flatnonzero(tail > max(floor + OVER_FLOOR_DB, INAUDIBLE_LUFS))
    ends = last + (int(over[-1]) + 1 if over.size else 0)
    # A floor is level: where the last second still falls, or the music goes on, there is none yet.
    settled = floor <= INAUDIBLE_LUFS or (
        floor < integrated_lufs - 2 * PLAYING_LU and levels.size - ends >= 50 and _is_level(levels[ends:])
    )
    return (ends * STEP_S if settled else None), floor


def _propose_head(evidence: Evidence) -> tuple[float, float, float, float | None, str]:
    """Propose start and fade-in; with where the music is, noise before it, and why."""
    silence = evidence.scan.edges.head_silence_s or 0.0
    noise = next((finding for finding in evidence.scan.faults if finding.kind == "head_noise"), None)
    cut = any(finding.kind == "abrupt_start" for finding in evidence.scan.faults)
    if noise is not None:
        music = noise.end_s
        start = max(0.0, music - HEAD_S)
        reason = (
            f"Noise of {write_number(noise.strength)} LUFS lies before the music, which starts at "
            f"{write_number(music, 2)} s: start just before it."
        )
        return start, min(HEAD_FADE_S, music - start), music, noise.strength, reason
    if cut or silence < CUT_IN_S:
        how = "begins within a sound" if cut else "begins with the first sound"
        return 0.0, CUT_IN_S, silence, None, f"The file {how}: a fade of {1000 * CUT_IN_S:.0f} ms, and no trim."
    start = max(0.0, silence - HEAD_S)
    reason = f"The first sound is at {write_number(silence, 2)} s"
    reason += f": start {write_number(silence - start, 2)} s before it." if start > 0 else ": nothing to trim."
    return start, min(HEAD_FADE_S, 0.9 * (silence - start)), silence, None, reason


def _propose_tail(
    duration_s: float, levels: Steps, integrated_lufs: float, room_s: float | None, floor: float, bars: Bars | None
) -> tuple[float, float, str]:
    """Propose end and fade-out, and say why."""
    if room_s is not None:
        noisy = floor > HEARD_NOISE_LUFS
        end = min(duration_s, room_s + (NOISY_FADE_S if noisy else TAIL_S))
        fade = min(end, max(end - room_s, CUT_OUT_S) if noisy else min(TAIL_FADE_S, end - room_s + TAIL_FADE_S / 2))
        left = "silence" if floor <= INAUDIBLE_LUFS else f"noise of {write_number(floor)} LUFS"
        return end, fade, f"The room ends at {write_number(room_s, 2)} s, and {left} is left: the fade comes after it."
    if floor > integrated_lufs - PLAYING_LU:
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


def _smooth(power: Steps) -> Steps:
    """Give the loudness of the 100 ms from each step on, LUFS."""
    padded = np.append(power, np.full(SMOOTH_STEPS - 1, power[-1] if power.size else 0.0))
    total = np.concatenate([[0.0], np.cumsum(padded)])
    return to_lufs(np.maximum(total[SMOOTH_STEPS:] - total[:-SMOOTH_STEPS], 0.0) / SMOOTH_STEPS)


def _is_level(levels: Steps) -> bool:
    """Tell whether a floor's first and last third are alike."""
    third = max(1, levels.size // 3)
    return bool(np.median(levels[:third]) - np.median(levels[-third:]) < OVER_FLOOR_DB)


def _scan(samples: npt.NDArray[np.float32], rate_hz: int, at_s: float, to_end: bool) -> list[Finding]:
    """Look for what may be wrong with a piece that begins, or ends, at a moment of the song."""
    from_s = at_s - samples.shape[0] / rate_hz if to_end else at_s
    return [
        replace(each, start_s=round(each.start_s + from_s, 6), end_s=round(each.end_s + from_s, 6))
        for each in scan_faults(samples, rate_hz)[1].faults
        if each.kind in EDGE_KINDS
    ]


def _is_same(one: Finding, other: Finding) -> bool:
    """Tell whether two findings are one fault; a cut that is still there behind a fade is none of these."""
    return one.kind == other.kind and one.kind in ("click", "pop") and abs(one.start_s - other.start_s) < SAME_S


def _peak(samples: npt.NDArray[np.float32]) -> float:
    top = float(np.abs(samples).max(initial=0.0))
    return 20 * math.log10(top) if top > 0 else -math.inf


def _loudest(samples: npt.NDArray[np.float32], rate_hz: int) -> float:
    """Give the plain level of the loudest 100 ms of a rest, about LUFS; minus infinity where there is none."""
    length = max(1, rate_hz // 10)
    power = (samples.astype(np.float64) ** 2).sum(axis=1)
    if power.size == 0:
        return -math.inf
    parts = np.add.reduceat(power, np.arange(0, power.size, length)) / length
    return float(to_lufs(np.array([parts.max()]))[0])
