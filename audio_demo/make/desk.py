"""The mixing desk: strips with equaliser, compressor, place, sends and rides, and two or three spaces."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from .dynamics import Compressor, compress, duck
from .facts import loudness_lufs
from .filters import Band, equalise
from .reverb import Space, reverberate
from .score import dice
from .signal import Audio, db_to_gain, delayed, frames_in, ride


@dataclass(frozen=True)
class Strip:
    """A channel of the desk.

    The fader is not a gain: ``level_lufs`` is how loud the strip alone is where it plays in the
    stretch ``level_window_s``, so that a change of sound does not change the balance.
    """

    name: str
    level_lufs: float
    pan: float = 0.0
    width: float = 1.0
    before: tuple[Band, ...] = ()
    compressors: tuple[Compressor, ...] = ()
    after: tuple[Band, ...] = ()
    sends_db: Mapping[str, float] | None = None
    rides: tuple[tuple[float, float], ...] = ((0.0, 0.0),)
    ducked_by: str | None = None
    duck_db: float = 0.0
    level_window_s: tuple[float, float] | None = None


@dataclass(frozen=True)
class Return:
    """A space fed by the sends, its equaliser, and a delay that may come before it."""

    space: Space
    bands: tuple[Band, ...]
    level_db: float = 0.0


def placed(audio: Audio, pan: float, width: float) -> Audio:
    """Return a track of two channels at its place: equal power, −1 left to 1 right.

    A track of one channel is panned. One of two channels keeps its own picture, narrowed by
    ``width``, and is balanced.
    """
    angle = (pan + 1.0) * np.pi / 4.0
    gains = np.sqrt(2.0) * np.array([np.cos(angle), np.sin(angle)])
    if audio.shape[1] == 1:
        return np.asarray(audio * gains / np.sqrt(2.0), dtype=np.float32)
    middle = audio.mean(axis=1, keepdims=True)
    side = 0.5 * width * (audio[:, :1] - audio[:, 1:])
    return np.asarray(np.concatenate([middle + side, middle - side], axis=1) * gains, dtype=np.float32)


def _processed(strip: Strip, stem: Audio) -> Audio:
    """Equaliser, compressors, equaliser, place."""
    audio = equalise(stem, strip.before)
    for unit in strip.compressors:
        audio = compress(audio, unit)
    return placed(equalise(audio, strip.after), strip.pan, strip.width)


def _levelled(strip: Strip, audio: Audio, window_s: tuple[float, float]) -> Audio:
    """Bring a strip to its loudness, then ride it."""
    start_s, end_s = strip.level_window_s or window_s
    stretch = audio[frames_in(start_s) : frames_in(end_s)]
    gain = db_to_gain(strip.level_lufs - loudness_lufs(stretch))
    return np.asarray(audio * (gain * ride(strip.rides, len(audio)))[:, None], dtype=np.float32)


def mix(
    stems: Mapping[str, Audio],
    strips: Sequence[Strip],
    returns: Mapping[str, Return],
    bus: tuple[Band, ...],
    window_s: tuple[float, float],
    seed: int,
) -> dict[str, Audio]:
    """Return every strip and every return as it goes to the sum, by name.

    Parameters
    ----------
    stems : mapping of str to Audio
        Dry parts, one for each strip, all of the same length.
    strips : sequence of Strip
        In this order; a strip may be ducked by one that stands before it.
    returns : mapping of str to Return
        Spaces by the names used in the sends.
    bus : tuple of Band
        Equaliser of the sum; being linear it is applied to every track alike.
    window_s : (float, float)
        Stretch in seconds in which the loudness of the strips is set.
    seed : int
        Seed of the spaces.
    """
    tracks: dict[str, Audio] = {}
    for strip in strips:
        audio = _levelled(strip, _processed(strip, stems[strip.name]), window_s)
        if strip.ducked_by is not None:
            audio = duck(audio, tracks[strip.ducked_by], depth_db=strip.duck_db, release_ms=140.0)
        tracks[strip.name] = audio
    wet = _answers(tracks, strips, returns, seed)
    return {name: equalise(track, bus) for name, track in (tracks | wet).items()}


def _answers(
    tracks: Mapping[str, Audio], strips: Sequence[Strip], returns: Mapping[str, Return], seed: int
) -> dict[str, Audio]:
    """Return what each space answers to the sends of the strips."""
    wet: dict[str, Audio] = {}
    for name, answer in returns.items():
        send = np.zeros_like(next(iter(tracks.values())))
        for strip in strips:
            if strip.sends_db and name in strip.sends_db:
                send += np.float32(db_to_gain(strip.sends_db[name])) * tracks[strip.name]
        space = reverberate(send, answer.space, dice(seed, name), answer.bands)
        wet[name] = np.float32(db_to_gain(answer.level_db)) * space
    return wet


def isolated(
    tracks: Mapping[str, Audio], names: Sequence[str], strips: Sequence[Strip], returns: Mapping[str, Return], seed: int
) -> Audio:
    """Return what the named strips add to the sum of a mix, their share of the spaces included.

    The spaces and the equaliser of the sum are linear, so the share can be worked out from the
    tracks that ``mix`` returned: the order of two filters changes nothing.
    """
    own = {name: tracks[name] for name in names}
    return summed(own | _answers(own, [strip for strip in strips if strip.name in own], returns, seed))


def summed(tracks: Mapping[str, Audio]) -> Audio:
    """Return the sum of all tracks in double precision, rounded once."""
    total = np.zeros(next(iter(tracks.values())).shape, dtype=np.float64)
    for track in tracks.values():
        total += track
    return np.asarray(total, dtype=np.float32)


def echo(audio: Audio, delay_ms: float, repeats: int, feedback_db: float, bands: tuple[Band, ...]) -> Audio:
    """Return the repeats of a sound, each duller than the last, crossing from side to side."""
    out = np.zeros((len(audio), 2), dtype=np.float32)
    now = audio.mean(axis=1, keepdims=True, dtype=np.float32)
    for number in range(repeats):
        now = equalise(delayed(now, delay_ms), bands) * np.float32(db_to_gain(feedback_db))
        out += placed(now, -0.7 if number % 2 == 0 else 0.7, 1.0)
    return out
