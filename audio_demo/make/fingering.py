"""What hands do to strings besides playing notes: squeaks of the left, taps of the right, fingertips on a bass."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .filters import bell, equalise, high_cut, low_cut
from .score import Note
from .signal import RATE_HZ, Audio, add_at, frames_in


def _squeak(rng: np.random.Generator) -> Audio:
    """A fingertip along a wound string: a whistle that slides, its overtones, and hiss around them."""
    length_s = float(rng.uniform(0.07, 0.16))
    t = np.arange(frames_in(length_s)) / RATE_HZ
    start_hz, ratio = float(rng.uniform(900.0, 1900.0)), float(rng.uniform(0.55, 1.7))
    rough = np.cumsum(rng.standard_normal(len(t))) * 0.12
    phase = 2.0 * np.pi * np.cumsum(start_hz * ratio ** (t / length_s)) / RATE_HZ + rough
    whistle = sum(np.sin(n * phase) / n**1.1 for n in (1, 2, 3, 4, 5))
    hiss = np.asarray(rng.standard_normal((len(t), 1)), dtype=np.float32)
    hiss = equalise(hiss, (low_cut(2500.0), bell(6000.0, 5.0, 0.8), high_cut(15000.0)))[:, 0]
    shape = np.sin(np.pi * t / length_s) ** 1.4
    return np.asarray((0.35 * np.asarray(whistle) + 0.4 * hiss) * shape, dtype=np.float32)[:, None]


def squeaks(changes_s: Sequence[float], frames: int, rng: np.random.Generator, *, share: float) -> Audio:
    """Return squeaks just before some changes of chord, a ``share`` of 0–1 of them; one channel."""
    out = np.zeros((frames, 1), dtype=np.float32)
    for change_s in changes_s:
        strength = float(rng.uniform(0.35, 1.0))
        early_s = float(rng.uniform(0.09, 0.16))
        if rng.uniform() < share:
            add_at(out, _squeak(rng), change_s - early_s, strength)
    return out


def knocks(notes: Sequence[Note], frames: int, rng: np.random.Generator) -> Audio:
    """Return the thump of the hand and the wood under every string plucked; one channel."""
    t = np.arange(frames_in(0.12)) / RATE_HZ
    out = np.zeros((frames, 1), dtype=np.float32)
    for note in notes:
        hz = float(rng.uniform(95.0, 125.0))
        body = np.sin(2.0 * np.pi * hz * t) * np.exp(-t / 0.022) + 0.5 * np.sin(2.0 * np.pi * 2.1 * hz * t) * np.exp(
            -t / 0.012
        )
        body *= np.minimum(1.0, t / 0.002) * np.clip((0.12 - t) / 0.03, 0.0, 1.0)
        add_at(out, np.asarray(body, dtype=np.float32)[:, None], note.start_s, (note.velocity / 127.0) ** 1.5)
    return out


def fingertips(notes: Sequence[Note], frames: int, rng: np.random.Generator) -> Audio:
    """Return the soft click of a fingertip leaving a thick string, and its slap on the board; one channel."""
    t = np.arange(frames_in(0.06)) / RATE_HZ
    shape = np.minimum(1.0, t / 0.0025) * np.exp(-t / 0.009) * np.clip((0.06 - t) / 0.02, 0.0, 1.0)
    out = np.zeros((frames, 1), dtype=np.float32)
    for note in notes:
        centre_hz = float(rng.uniform(900.0, 1700.0))
        hiss = np.asarray(rng.standard_normal((len(t), 1)), dtype=np.float32)
        click = equalise(hiss, (low_cut(350.0), bell(centre_hz, 8.0, 1.2), high_cut(7000.0)))
        late_s = float(rng.uniform(-0.004, 0.002))
        strength = (note.velocity / 127.0) ** 2.0
        add_at(out, np.asarray(click * shape[:, None], dtype=np.float32), note.start_s + late_s, strength)
    return out
