"""Versions of one master, for `evenhand weigh --versions`: read, and compared with the main one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from trainer.app.weighing import check_sound, read_heads, try_reading
from trainer.audio.clip import Clip
from trainer.audio.file_form import FileForm
from trainer.audio.resampling import choose_working_rate, resample_clip
from trainer.decisions.bounces import FEWEST, MOST
from trainer.decisions.version_check import VersionSound, check_versions, list_version_check
from trainer.errors import BadValue, EvenhandError
from trainer.files.sound_blocks import open_sound
from trainer.measure.steps import block_frames

Tell = Callable[[float, str], None]
READ = 0.3


@dataclass(frozen=True)
class VersionsChecked:
    """Hold what came of it: plain facts, if two files or more could be compared, and a line for each other."""

    facts: dict[str, Any] | None
    errors: tuple[EvenhandError, ...]


def check_version_files(files: list[str], tell: Tell = lambda fraction, words: None) -> VersionsChecked:
    """Compare versions of one master with the first file, which is the main one.

    Parameters
    ----------
    files : list of str
        Paths, two to eight.
    tell : callable
        Is told how far it is, 0–1, and what is being done.

    Raises
    ------
    BadValue
        If there are too few or too many files.
    """
    if not FEWEST <= len(files) <= MOST:
        raise BadValue("weigh", "files", len(files), f"{FEWEST} to {MOST}: the main master, then its versions")
    heads = read_heads(files)
    rate_hz = max((choose_working_rate(head.sample_rate_hz) for head in heads if isinstance(head, FileForm)), default=0)
    sounds: list[VersionSound | EvenhandError] = []
    for number, (path, head) in enumerate(zip(files, heads, strict=True)):
        tell(READ * number / len(files), f"Reading {Path(path).name}")
        sounds.append(head if isinstance(head, EvenhandError) else try_reading(partial(_read, path, rate_hz)))
    errors = tuple(sound for sound in sounds if isinstance(sound, EvenhandError))
    main, others = sounds[0], tuple(sound for sound in sounds[1:] if isinstance(sound, VersionSound))
    if isinstance(main, EvenhandError) or not others:
        return VersionsChecked(None, errors)
    tell(READ, f"Comparing with {main.name}")
    check, strangers = check_versions(main, others)
    return VersionsChecked(list_version_check(check) if check.findings else None, errors + strangers)


def _read(path: str, rate_hz: int) -> VersionSound:
    """Read one file."""
    with open_sound(path) as sound:
        form = sound.form
        samples = np.zeros((form.frames, form.channels), dtype=np.float32)
        for block in sound.read(block_frames(form.sample_rate_hz)):
            samples[sound.frames_read - block.shape[1] : sound.frames_read] = block.T
        samples = samples[: sound.frames_read]
    check_sound(form, samples)
    stereo = np.repeat(samples, 2, axis=1) if form.channels == 1 else samples
    clip = resample_clip(Clip(stereo, form.sample_rate_hz), rate_hz)
    return VersionSound(Path(path).name, path, clip.samples, rate_hz, form.sample_rate_hz, samples.shape[0])
