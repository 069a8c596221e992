"""Songs that the program makes itself on first use: a master of each bundled mix, and one faulty bounce."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from trainer.dsp.faults.bounce import FaultyBounce, Stretch, make_faulty_bounce
from trainer.exercise.mastering import make_master
from trainer.exercise.song import Song, SongEntry
from trainer.files.sound_reading import hash_file, read_song
from trainer.files.sound_writing import write_flac
from trainer.files.whole_file import write_all

FOLDER = "made"
SHORT_HASH = 12
BOUNCE_SEED = 7
# So long before the end of the music the faulty bounce stops, in the middle of the ringing.
CUT_BEFORE_END_S = 1.5


@dataclass(frozen=True)
class MadeSong:
    """Point to a made song.

    Parameters
    ----------
    entry : SongEntry
        As for any other song, with the bars and sections of the mix.
    of : str
        Title of the mix.
    notes : dict
        What was done: moves and figures of a master, faults with places and strengths of a bounce.
    """

    entry: SongEntry
    of: str
    notes: dict[str, Any]


def open_master(data_folder: Path, mix: SongEntry) -> MadeSong:
    """Open the master of a mix; it is made when it is first asked for, or when the mix has changed."""
    path = _place(data_folder, mix, "master")
    if not path.is_file():
        master = make_master(read_song(mix))
        notes = {
            "steps": [asdict(step) for step in master.steps],
            "integrated_lufs": master.loudness_lufs,
            "true_peak_dbtp": master.true_peak_dbtp,
            "words": list(master.words),
        }
        _keep(path, master.clip.samples, master.clip.rate_hz, notes)
    return _open(path, mix, f"{mix.title} (master)")


def open_faulty_bounce(data_folder: Path, mix: SongEntry) -> MadeSong:
    """Open a faulty bounce of a mix, made when it is first asked for; its faults are in the notes."""
    path = _place(data_folder, mix, "faulty_bounce")
    if not path.is_file():
        bounce = _bounce(read_song(mix))
        listed = [
            {
                "kind": fault.fault,
                "start_s": round(fault.place_s, 4),
                "end_s": round(fault.place_s + fault.length_s, 4),
                "channel": fault.channel,
                "strength": round(fault.strength, 2),
                "unit": fault.unit,
            }
            for fault in bounce.faults
        ]
        _keep(path, bounce.clip.samples, bounce.clip.rate_hz, {"faults": listed})
    return _open(path, mix, f"{mix.title} (faulty bounce)")


def _bounce(song: Song) -> FaultyBounce:
    """Clip the last chorus, and stop before the room has rung out."""
    sections = song.entry.sections
    chorus = next((part for part in reversed(sections) if part.name.startswith("chorus")), sections[-1])
    ends_s = min(sections[-1].end_s + CUT_BEFORE_END_S, song.clip.duration_s - CUT_BEFORE_END_S)
    return make_faulty_bounce(song.clip, Stretch(chorus.start_s, chorus.end_s), ends_s, BOUNCE_SEED)


def _place(data_folder: Path, mix: SongEntry, kind: str) -> Path:
    """Name the file by the mix's content, so that another mix gets another file."""
    digest = hash_file(Path(mix.path))[:SHORT_HASH]
    return data_folder / FOLDER / f"{Path(mix.path).stem}.{digest}.{kind}.flac"


def _keep(path: Path, samples: Any, rate_hz: int, notes: dict[str, Any]) -> None:
    """Write the sound and its notes; both get their names when they are whole."""
    with write_all((path.with_suffix(".json"), path)) as (written, sounding):
        written.write_text(json.dumps(notes, indent=2) + "\n", encoding="utf-8")
        write_flac(sounding, samples, rate_hz)


def _open(path: Path, mix: SongEntry, title: str) -> MadeSong:
    notes = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
    return MadeSong(replace(mix, path=str(path), title=title), mix.title, notes)
