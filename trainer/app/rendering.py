"""Trials written to files, exactly as they would be played, with their receipt."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from trainer.app.world import Conditions, choose_songs, list_known_drills, make_bench, open_store
from trainer.errors import BadValue
from trainer.exercise.receipt import write_trial_receipt
from trainer.exercise.song import SongEntry
from trainer.exercise.trial import PreparedTrial, TrialSpec
from trainer.files.folders import open_folder
from trainer.files.library import find_drill, list_demo_songs
from trainer.files.sound_reading import describe_own_song, hash_file
from trainer.files.sound_writing import refuse_overwriting, write_float_wav
from trainer.files.whole_file import write_whole
from trainer.workshop.bench import Bench

RECEIPT = "receipt.json"


@dataclass(frozen=True)
class RenderWish:
    """What `evenhand render` was asked for."""

    drill: str
    out: str
    seed: int = 1
    trials: int = 1
    audio: str | None = None
    amount: float | None = None
    force: bool = False


def render_drill(conditions: Conditions, wish: RenderWish) -> Path:
    """Write the trials of a drill; gives the receipt's path."""
    drill = find_drill(list_known_drills(conditions), wish.drill)
    amount = drill.amount.start if wish.amount is None else wish.amount
    if not drill.amount.low <= amount <= drill.amount.high:
        expected = f"{drill.amount.low:g} to {drill.amount.high:g} {drill.amount.unit}"
        raise BadValue(drill.drill, "amount", f"{amount:g}", expected)
    bench = make_bench(choose_songs(wish.audio)[0])
    specs = [TrialSpec(drill, wish.seed, index, amount) for index in range(wish.trials)]
    return _write(bench, specs, [f"{drill.drill}-{wish.seed}-{spec.index}" for spec in specs], wish.out, wish.force)


def replay_trial(conditions: Conditions, trial: str, out: str, force: bool) -> Path:
    """Write a trial of the history again; gives the receipt's path."""
    with open_store(conditions) as store:
        stored = store.find_trial(trial)
    if stored is None:
        raise BadValue("history", "trial", trial, "the identifier of a trial that was answered")
    drill = find_drill(list_known_drills(conditions), stored.drill)
    entry = _find_song(stored.audio_path, stored.audio_sha256)
    spec = TrialSpec(drill, stored.seed, stored.index, stored.amount)
    return _write(make_bench((entry,)), [spec], [stored.trial], out, force)


def _find_song(path: str, sha256: str) -> SongEntry:
    """Find the very file a trial was made of: a bundled song by its hash, or the person's own where it was."""
    for entry in list_demo_songs():
        if hash_file(Path(entry.path)) == sha256:
            return entry
    own = Path(path)
    if not own.is_file():
        raise BadValue("history", "audio", path, "the song of that trial, where it was")
    if hash_file(own) != sha256:
        raise BadValue("history", "audio", path, "the song as it was; the file has changed since")
    return describe_own_song(path)


def _write(bench: Bench, specs: list[TrialSpec], names: list[str], out: str, force: bool) -> Path:
    """Make the trials and write their versions and the receipt."""
    folder = Path(out).expanduser()
    receipt_path = folder / RECEIPT
    refuse_overwriting([receipt_path], force)
    made = []
    for spec, name in zip(specs, names, strict=True):
        trial = bench.make(spec)
        files = tuple(f"trial_{spec.index + 1:03d}_version_{v.number}.wav" for v in trial.versions)
        open_folder(folder, "out")
        refuse_overwriting([folder / file for file in files], force)
        for file, sound in zip(files, trial.sounds, strict=False):
            _write_sound(folder / file, sound, trial.rate_hz)
        made.append((trial, write_trial_receipt(trial, files, name)))
    try:
        with write_whole(receipt_path) as beside:
            beside.write_text(json.dumps(_describe(made), indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
    except OSError:
        raise BadValue("out", "file", receipt_path, "a place that can be written") from None
    return receipt_path


def _write_sound(path: Path, sound: npt.NDArray[np.float32], rate_hz: int) -> None:
    """Write a version whole."""
    try:
        with write_whole(path) as beside:
            write_float_wav(beside, sound, rate_hz)
    except (OSError, BadValue):
        raise BadValue("out", "file", path, "a place that can be written") from None


def _describe(made: list[tuple[PreparedTrial, dict[str, Any]]]) -> dict[str, Any]:
    """Head the receipt with what all its trials share."""
    first = made[0][0]
    return {
        "drill": first.spec.drill.drill,
        "seed": first.spec.seed,
        "audio": {"file": Path(first.song.path).name, "sha256": first.sha256},
        "trials": [receipt for _, receipt in made],
    }
