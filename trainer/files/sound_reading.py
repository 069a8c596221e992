"""Sound files in: WAV, FLAC, AIFF, OGG, MP3, mono or stereo, 8 to 192 kHz."""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile

from trainer.audio.clip import Clip
from trainer.audio.loops import SHORTEST_LOOP_S
from trainer.audio.resampling import choose_working_rate, resample_clip
from trainer.errors import BadValue
from trainer.exercise.song import Reference, Song, SongEntry
from trainer.units import write_number

LOWEST_RATE_HZ, HIGHEST_RATE_HZ = 8000, 192000
LONGEST_S = 1800.0
SILENCE_PEAK = 10 ** (-70 / 20)
SHORT_HASH = 12


def read_song(entry: SongEntry) -> Song:
    """Read a song, at 44.1 or 48 kHz in stereo.

    Parameters
    ----------
    entry : SongEntry
        Names the file.

    Returns
    -------
    Song
        Other rates are converted; mono is put on both sides. Stems and reference are read with it. No file is changed.

    Raises
    ------
    BadValue
        If the file is unreadable, empty, silent, under 4 s, over 30 min, of more than two channels, of a rate
        outside 8–192 kHz, or holds values that are no numbers; if a stem is not as long as its mix, or a reference
        is not the file that was listed.
    """
    path = Path(entry.path)
    clip, rate_hz = _read_clip(path)
    parts = {stem.part: _read_stem(Path(stem.path), clip) for stem in entry.stems}
    other = None if entry.reference is None else _read_reference(entry.reference, clip.rate_hz)
    return Song(entry, clip, hash_file(path), rate_hz, parts, other)


def _read_clip(path: Path) -> tuple[Clip, int]:
    """Read a file at a rate to work at; gives its own rate too."""
    samples, rate_hz = _read_samples(path)
    _check_samples(path.name, samples, rate_hz)
    stereo = np.repeat(samples, 2, axis=1) if samples.shape[1] == 1 else samples
    clip = Clip(np.ascontiguousarray(stereo, dtype=np.float32), rate_hz)
    return resample_clip(clip, choose_working_rate(rate_hz)), rate_hz


def _read_stem(path: Path, mix: Clip) -> Clip:
    """Read a part's share of a mix, which is as long as the mix."""
    part, _ = _read_clip(path)
    if part.frames != mix.frames or part.rate_hz != mix.rate_hz:
        raise BadValue(path.name, "frames", part.frames, f"{mix.frames} at {mix.rate_hz} Hz, as in its mix")
    return part


def _read_reference(reference: Reference, rate_hz: int) -> Clip:
    """Read the song a mix is set beside, at the rate of the mix."""
    path = Path(reference.path)
    clip, _ = _read_clip(path)
    found = hash_file(path)
    if found != reference.sha256:
        raise BadValue(path.name, "sha256", found[:SHORT_HASH], f"{reference.sha256[:SHORT_HASH]}, as it is listed")
    return resample_clip(clip, rate_hz)


def describe_own_song(path: str) -> SongEntry:
    """Describe a person's own file: its name without the suffix is its title."""
    return SongEntry(str(Path(path).expanduser().absolute()), Path(path).stem, "own")


def hash_file(path: Path) -> str:
    """Give the SHA-256 of a file's bytes, in hexadecimal."""
    digest = hashlib.sha256()
    with path.open("rb") as file:
        for block in iter(lambda: file.read(1 << 20), b""):
            digest.update(block)
    return digest.hexdigest()


def _read_samples(path: Path) -> tuple[npt.NDArray[np.float32], int]:
    """Decode a file after looking at its head."""
    if not path.exists():
        raise BadValue("audio", "file", path, "a file that exists")
    if path.is_dir():
        raise BadValue("audio", "file", path, "a sound file, not a folder")
    try:
        with soundfile.SoundFile(str(path)) as file:
            _check_head(path.name, file.channels, file.samplerate, file.frames)
            return file.read(dtype="float32", always_2d=True), int(file.samplerate)
    except (soundfile.LibsndfileError, RuntimeError, OSError, TypeError):
        raise BadValue("audio", "file", path, "a readable WAV, FLAC, AIFF, OGG or MP3 file") from None


def _check_head(where: str, channels: int, rate_hz: int, frames: int) -> None:
    if channels not in (1, 2):
        raise BadValue(where, "channels", channels, "1 or 2; make a stereo bounce first")
    if not LOWEST_RATE_HZ <= rate_hz <= HIGHEST_RATE_HZ:
        raise BadValue(where, "sample_rate_hz", rate_hz, f"{LOWEST_RATE_HZ} to {HIGHEST_RATE_HZ}")
    if frames > LONGEST_S * rate_hz:
        expected = f"at most {LONGEST_S:.0f} s ({LONGEST_S / 60:.0f} min)"
        raise BadValue(where, "duration_s", f"{frames / rate_hz:.0f}", expected)


def _check_samples(where: str, samples: npt.NDArray[np.float32], rate_hz: int) -> None:
    frames = samples.shape[0]
    if frames < SHORTEST_LOOP_S * rate_hz:
        raise BadValue(where, "duration_s", f"{frames / rate_hz:.2f}", f"at least {SHORTEST_LOOP_S:g} s of sound")
    if samples.shape[1] == 0:
        raise BadValue(where, "channels", 0, "1 or 2")
    bad = np.flatnonzero(~np.isfinite(samples).all(axis=1))
    if bad.size:
        raise BadValue(where, "samples", f"not a number at {bad[0] / rate_hz:.3f} s", "finite values throughout")
    peak = float(np.abs(samples).max())
    if peak < SILENCE_PEAK:
        level = write_number(20 * np.log10(peak), 0) if peak > 0 else "silence"
        raise BadValue(where, "peak_dbfs", level, "sound above −70 dBFS")
