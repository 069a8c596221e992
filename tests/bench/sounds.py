"""Sound for the speed table: the first demo song, cut and repeated."""

from __future__ import annotations

import tracemalloc
from collections.abc import Callable
from functools import lru_cache

import numpy as np

from trainer.audio.clip import Clip
from trainer.files.library import list_demo_songs
from trainer.files.sound_reading import read_song

CHORUS_S = 24


@lru_cache(maxsize=2)
def cut_song(length_s: int) -> Clip:
    """Cut 20 s from the first chorus on, or repeat the song to minutes."""
    song = read_song(list_demo_songs()[0]).clip
    if length_s <= 40:
        start = CHORUS_S * song.rate_hz
        return Clip(song.samples[start : start + length_s * song.rate_hz].copy(), song.rate_hz)
    rounds = -(-length_s * song.rate_hz // song.frames)
    return Clip(np.tile(song.samples, (rounds, 1))[: length_s * song.rate_hz].copy(), song.rate_hz)


def rows_of(clip: Clip) -> np.ndarray:
    """Give a clip's channels as rows, for libraries that want them so."""
    return np.ascontiguousarray(clip.samples.T)


def print_scratch(name: str, work: Callable[[], object], clip: Clip) -> None:
    """Print how much memory work takes at its peak, against the sound itself in float32."""
    tracemalloc.start()
    work()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    print(f"{name:44s} {peak / clip.samples.nbytes:6.2f} x the sound's own memory, at the peak", flush=True)
