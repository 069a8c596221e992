"""Fades in small steps: longer and shorter, on a bar line if wished, and head and tail taken each by itself."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from trainer.audio.clip import Clip
from trainer.audio.fades import make_rise
from trainer.decisions.fade_proposals import apply_fades
from trainer.decisions.sheet import LEAST_BPM, MOST_BEATS, MOST_BPM, Fades, Tempo
from trainer.decisions.song_edges import INAUDIBLE_LUFS, Edge, SongEdges
from trainer.errors import BadValue

Bars = tuple[float, float]

# Lengths that are offered, s, each heard as a step; common practice, no source.
HEAD_LENGTHS_S = (0.0, 0.001, 0.002, 0.003, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0)
TAIL_LENGTHS_S = (
    0.0, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 30.0,
)  # fmt: skip
SAME_S = 0.0002
# So much of the song is heard beside an edge, silence beyond the file's end, and a ramp where the song is cut into.
BESIDE_S, BEYOND_S, RAMP_S, LONGEST_S = 4.0, 0.5, 0.05, 45.0


def take_edge(kept: Fades, tried: Fades, edge: Edge) -> Fades:
    """Put one end of what was tried in the place of that of what is kept; without a fade its curve is the usual one."""
    if edge == "head":
        curve = tried.curve_in if tried.fade_in_s else Fades().curve_in
        return replace(kept, start_s=tried.start_s, fade_in_s=tried.fade_in_s, curve_in=curve)
    curve = tried.curve_out if tried.fade_out_s else Fades().curve_out
    return replace(kept, end_s=tried.end_s, fade_out_s=tried.fade_out_s, curve_out=curve)


def leave_edge(kept: Fades, edge: Edge) -> Fades:
    """Leave one end as the file has it."""
    return take_edge(kept, Fades(), edge)


def is_taken(kept: Fades, edge: Edge) -> bool:
    """Tell whether an end is trimmed or faded."""
    if edge == "head":
        return kept.start_s != 0.0 or kept.fade_in_s != 0.0
    return kept.end_s is not None or kept.fade_out_s != 0.0


def find_curve(fades: Fades, edge: Edge) -> str:
    """Give the curve of one end."""
    return fades.curve_in if edge == "head" else fades.curve_out


def change_curve(fades: Fades, edge: Edge, curve: str) -> Fades:
    """Give one end another curve."""
    return replace(fades, curve_in=curve) if edge == "head" else replace(fades, curve_out=curve)


def step_length(fades: Fades, edge: Edge, step: int, duration_s: float, bars: Bars | None = None) -> Fades:
    """Make a fade shorter or longer by one step, as far as it fits beside the other one.

    Parameters
    ----------
    fades : Fades
        As they are.
    edge : str
        ``head`` or ``tail``.
    step : int
        1 for longer, −1 for shorter.
    duration_s : float
        Of the song.
    bars : (float, float), optional
        First downbeat and length of a bar, s: a fade-out begins on a bar line then.
    """
    end_s = duration_s if fades.end_s is None else min(fades.end_s, duration_s)
    other_s = fades.fade_out_s if edge == "head" else fades.fade_in_s
    most_s = end_s - fades.start_s - other_s
    if edge == "head":
        return replace(fades, fade_in_s=_find_next(HEAD_LENGTHS_S, fades.fade_in_s, step, most_s))
    lengths = TAIL_LENGTHS_S if bars is None else list_bar_lengths(end_s, bars)
    return replace(fades, fade_out_s=_find_next(lengths, fades.fade_out_s, step, most_s))


def put_on_bar(fades: Fades, duration_s: float, bars: Bars) -> Fades:
    """Let a fade-out begin on the bar line that makes it least longer or shorter; without a fade nothing changes."""
    end_s = duration_s if fades.end_s is None else min(fades.end_s, duration_s)
    most_s = end_s - fades.start_s - fades.fade_in_s
    fitting = [length for length in list_bar_lengths(end_s, bars) if 0 < length <= most_s + SAME_S]
    if fades.fade_out_s == 0 or not fitting:
        return fades
    nearest = min(fitting, key=lambda length: abs(length - fades.fade_out_s))
    return replace(fades, fade_out_s=round(nearest, 4))


def begins_on_bar(fades: Fades, duration_s: float, bars: Bars) -> bool:
    """Tell whether there is a fade-out that begins on a bar line."""
    first_s, length_s = bars
    begins_s = (duration_s if fades.end_s is None else min(fades.end_s, duration_s)) - fades.fade_out_s
    nearest_s = first_s + max(0, round((begins_s - first_s) / length_s)) * length_s
    return fades.fade_out_s > 0 and abs(begins_s - nearest_s) <= SAME_S


def list_bar_lengths(end_s: float, bars: Bars) -> tuple[float, ...]:
    """List the lengths of a fade-out that begin on a bar line, s, none first."""
    first_s, length_s = bars
    count = max(0, math.floor((end_s - first_s) / length_s + 1e-9))
    lengths = (end_s - (first_s + number * length_s) for number in range(count, -1, -1))
    return (0.0, *(round(length, 4) for length in lengths if SAME_S < length <= TAIL_LENGTHS_S[-1]))


def read_tempo(text: str, first_s: float) -> Tempo:
    """Read a tempo as it is typed.

    Parameters
    ----------
    text : str
        Beats per minute, 30 to 300, and beats in a bar where these are not four: ``92``, ``92 3``.
    first_s : float
        The first downbeat, s, 0 or more.

    Raises
    ------
    BadValue
        If it cannot be read.
    """
    tempo, _, beats = text.replace(",", ".").strip().partition(" ")
    try:
        bpm, count = float(tempo), int(beats or "4")
    except ValueError:
        bpm, count = 0.0, 0
    if not (LEAST_BPM <= bpm <= MOST_BPM and 1 <= count <= MOST_BEATS):
        expected = f"beats per minute, {LEAST_BPM:g} to {MOST_BPM:g}, and beats in a bar, such as 92 3"
        raise BadValue("fades", "tempo", text, expected)
    return Tempo(bpm, count, first_s)


def cut_edge(song: Clip, fades: Fades, edge: Edge, edges: SongEdges) -> tuple[Clip, Clip, float]:
    """Cut one end of a song as a loop, as it is and with its fade, in step.

    Parameters
    ----------
    song : Clip
        The mix.
    fades : Fades
        What is tried.
    edge : str
        ``head`` or ``tail``.
    edges : SongEdges
        What was found there.

    Returns
    -------
    tuple of (Clip, Clip, float)
        As it is; with its fade; and where in the song it begins, s, below 0 where that is before the file. Silence
        lies before a head and behind a tail, and a ramp where the song is cut into, so that no click is heard but its
        own.

    Raises
    ------
    BadValue
        If there is nothing between start and end, or the fades are longer than that.
    """
    rate = song.rate_hz
    first, last = (round(time_s * rate) for time_s in _choose_part(song.duration_s, fades, edge, edges))
    beyond = np.zeros((round(BEYOND_S * rate), song.samples.shape[1]))
    ramp, gains = make_rise(round(RAMP_S * rate)), np.ones(last - first)
    if edge == "tail" or first > 0:
        gains[: ramp.size] *= ramp
    if edge == "head" or last < song.frames:
        gains[-ramp.size :] *= ramp[::-1]
    pair = []
    for samples in (song.samples, _put_in_place(apply_fades(song, fades), fades.start_s, song.frames)):
        wave = samples[first:last] * gains[:, None]
        pair.append(song.with_samples(np.concatenate([beyond, wave] if edge == "head" else [wave, beyond])))
    return pair[0], pair[1], first / rate - (BEYOND_S if edge == "head" else 0.0)


def _choose_part(duration_s: float, fades: Fades, edge: Edge, edges: SongEdges) -> tuple[float, float]:
    """Choose what is heard of one end, s: its fade and the music beside it, silence only as far as there is time."""
    if edge == "head":
        until_s = min(duration_s, max(edges.music_from_s, fades.start_s + fades.fade_in_s) + BESIDE_S)
        return max(0.0, until_s - LONGEST_S), until_s
    end_s = duration_s if fades.end_s is None else min(fades.end_s, duration_s)
    from_s = min(edges.last_loud_s, end_s - fades.fade_out_s) - BESIDE_S
    # Where both are too much, the fade is heard rather than the last loud moment, unless it is one of silence.
    silent_s = edges.room_ends_s if edges.room_ends_s is not None and edges.floor_lufs <= INAUDIBLE_LUFS else end_s
    first_s = max(0.0, from_s, min(end_s, silent_s) - LONGEST_S)
    return first_s, min(duration_s, first_s + LONGEST_S)


def _put_in_place(faded: Clip, start_s: float, frames: int) -> npt.NDArray[np.float32]:
    """Put a trimmed song where it lies in the whole one, with silence about it."""
    whole = np.zeros((frames, faded.samples.shape[1]), np.float32)
    first = round(max(start_s, 0.0) * faded.rate_hz)
    whole[first : first + faded.frames] = faded.samples
    return whole


def _find_next(lengths: tuple[float, ...], present_s: float, step: int, most_s: float) -> float:
    """Find the next longer or shorter length that fits; the present one where there is none."""
    longer = (length for length in lengths if present_s + SAME_S < length <= most_s + SAME_S)
    shorter = (length for length in reversed(lengths) if length < present_s - SAME_S)
    return next(longer if step > 0 else shorter, present_s)
