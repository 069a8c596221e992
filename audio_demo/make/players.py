"""The band: how a written part becomes a dry sound, the same for every song."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .amp import BASS_GRIT, Amp, amplify
from .fretting import onsets
from .noises import pick_noise
from .score import Note, dice
from .signal import Audio, db_to_gain, layered, mono
from .soundfont import play

# General MIDI programs, counted from 0.
STEEL_GUITAR, JAZZ_GUITAR, CLEAN_GUITAR = 25, 26, 27
UPRIGHT_BASS, FINGERED_BASS, PICKED_BASS = 32, 33, 34
STRINGS, SLOW_STRINGS = 48, 49
ELECTRIC_PIANO, ROCK_ORGAN = 4, 18


def beside(part: Audio, noise: Audio, level_db: float) -> Audio:
    """Return a part with a noise of its own, at a level against the part's highest peak."""
    highest = float(np.abs(noise).max())
    return part + noise * np.float32(db_to_gain(level_db) * np.abs(part).max() / max(highest, 1e-9))


def with_pick(audio: Audio, notes: Sequence[Note], seed: int, part: str, level_db: float) -> Audio:
    """Return the part with the noise of a pick, at a level against the part's own highest peak."""
    picks = pick_noise(onsets(notes), len(audio), dice(seed, f"{part} pick"))
    picks *= np.float32(db_to_gain(level_db) * np.abs(audio).max() / np.abs(picks).max())
    return audio + picks


def electric_guitar(notes: Sequence[Note], program: int, amp: Amp, seconds: float, cents: float) -> Audio:
    """Return an electric guitar through an amplifier; one channel."""
    return amplify(mono(play(notes, program=program, seconds=seconds, cents=cents)), amp)


def steel_guitar(notes: Sequence[Note], seconds: float, cents: float) -> Audio:
    """Return a steel-string guitar; one channel."""
    return mono(play(notes, program=STEEL_GUITAR, seconds=seconds, cents=cents))


def bass_guitar(notes: Sequence[Note], seconds: float) -> Audio:
    """Return a direct bass with a driven copy beside it for the middle; one channel."""
    direct = mono(play(notes, program=PICKED_BASS, seconds=seconds))
    grit = amplify(direct, BASS_GRIT)
    scale = np.float32(np.abs(direct).max() / np.abs(grit).max())
    return layered((direct, 0.0), (scale * grit, -13.0))
