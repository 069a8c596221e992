"""Bring a mix to its level, to 16 bits and into a file, and write down what it is."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np
import soundfile as sf
import yaml
from numpy.typing import NDArray

from .facts import Facts, measure, true_peak_dbtp
from .filters import equalise, low_cut
from .score import dice
from .signal import RATE_HZ, Audio, db_to_gain, frames_in
from .song import ORDINARY, Song, Stem
from .toolchain import versions

# A mix, not a master: headroom is left, and nothing but a fader brings it there.
PEAK_DBTP = -3.3
LICENCE = "CC0-1.0"
# Compressors turn uneven waves into a little DC; so low a corner leaves the bass its phase.
_DC_CORNER_HZ = 10.0
_FADE_S = 2.5
_SILENT_END_S = 0.4


def _without_dc(total: Audio) -> Audio:
    return equalise(total, (low_cut(_DC_CORNER_HZ),))


def _led_out(audio: Audio) -> Audio:
    """The sound with its end led into silence, in place."""
    fade, still = frames_in(_FADE_S), frames_in(_SILENT_END_S)
    curve = 0.5 + 0.5 * np.cos(np.pi * np.arange(fade) / fade)
    audio[len(audio) - still - fade : len(audio) - still] *= curve[:, None].astype(np.float32)
    audio[len(audio) - still :] = 0.0
    return audio


def finish(total: Audio) -> Audio:
    """Return the sum without DC, at its level, with its tail led into silence.

    The fade only covers what the reverb has left by then, which is below −70 dBFS.
    """
    clean = _without_dc(total)
    return _led_out(clean * np.float32(db_to_gain(PEAK_DBTP - true_peak_dbtp(clean))))


def finish_share(share: Audio, total: Audio) -> Audio:
    """Return a share of the sum after the same filter, fader and fade as the whole of it."""
    gain_db = PEAK_DBTP - true_peak_dbtp(_without_dc(total))
    return _led_out(_without_dc(share) * np.float32(db_to_gain(gain_db)))


def to_sixteen_bits(audio: Audio, rng: np.random.Generator, bits: int = 16) -> NDArray[np.int16]:
    """Return the sound in 16 bits, of which the uppermost are used, with triangular dither of two of their steps."""
    full, unused = 2 ** (bits - 1), 2 ** (16 - bits)
    dither = rng.uniform(-0.5, 0.5, audio.shape) + rng.uniform(-0.5, 0.5, audio.shape)
    steps = np.round(audio.astype(np.float64) * full + dither)
    return np.asarray(np.clip(steps, -full, full - 1) * unused, dtype=np.int16)


def _write(samples: NDArray[np.int16], path: Path) -> Path:
    sf.write(path, samples, RATE_HZ, format="FLAC", subtype="PCM_16", compression_level=1.0)
    return path


def write_song(song: Song, audio: Audio, folder: Path) -> Path:
    """Write a finished song as a FLAC file and return its path."""
    return _write(to_sixteen_bits(audio, dice(song.seed, "dither"), song.bits), folder / f"{song.slug}.flac")


def write_stem(song: Song, stem: Stem, share: Audio, folder: Path) -> dict[str, str]:
    """Write a part's share of a finished song beside it and return its entry; both sides alike cost one."""
    alike = bool(np.array_equal(share[:, 0], share[:, 1]))
    samples = to_sixteen_bits(share[:, :1] if alike else share, dice(song.seed, f"{stem.part} dither"), stem.bits)
    samples = samples.repeat(2, axis=1) if alike else samples
    path = _write(samples, folder / f"{song.slug}.{stem.part}.flac")
    return {"file": path.name, "part": stem.part, "sha256": _sha256(path)}


def _sha256(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _rounded(facts: Facts) -> dict[str, float]:
    known = {name: value for name, value in asdict(facts).items() if value is not None}
    return {name: round(value, 3 if name == "correlation" else 2) for name, value in known.items()}


def _windows(song: Song, measured: Mapping[str, float]) -> dict[str, tuple[float, float]]:
    """The windows a song states for what was measured of it."""
    return {name: window for name, window in {**ORDINARY, **song.windows}.items() if name in measured}


def describe(
    song: Song, path: Path, stems: Sequence[dict[str, str]], reference: dict[str, Any] | None = None
) -> dict[str, Any]:
    """Return the entry of a written song for the list of songs, measured on the file itself."""
    measured = _read_facts(song, path)
    return {
        "file": path.name,
        "kind": "mix",
        **_paper(song, path),
        "licence": LICENCE,
        "sha256": _sha256(path),
        "stems": list(stems),
        **({} if reference is None else {"reference": reference}),
        "traits": song.traits,
        "measured": measured,
        "windows": _windows(song, measured),
        "sources": dict(song.sources),
        "made_with": versions(),
    }


def describe_reference(song: Song, path: Path) -> dict[str, Any]:
    """Return the entry of a written reference, which stands within the entry of the song it is set beside."""
    measured = _read_facts(song, path)
    return {
        "file": path.name,
        "kind": "master",
        **_paper(song, path),
        "sha256": _sha256(path),
        "measured": measured,
        "windows": _windows(song, measured),
        "sources": dict(song.sources),
    }


def _read_facts(song: Song, path: Path) -> dict[str, float]:
    """Measure a written song."""
    audio, _ = sf.read(path, dtype="float32", always_2d=True)
    return _rounded(measure(audio, song.timeline, song.sections))


def _paper(song: Song, path: Path) -> dict[str, Any]:
    """What is written down of a song before it is measured: title, style, bars, sections."""
    timeline = song.timeline
    return {
        "title": song.title,
        "style": song.style,
        "tempo_bpm": timeline.tempo_bpm,
        "first_downbeat_s": timeline.first_downbeat_s,
        "beats_per_bar": timeline.beats_per_bar,
        "key": song.key,
        "length_s": round(sf.info(path).duration, 3),
        "sections": [
            {
                "name": section.name,
                "start_s": round(timeline.at(section.first_bar), 4),
                "end_s": round(timeline.at(section.first_bar + section.bars), 4),
            }
            for section in song.sections
        ],
    }


def record(entry: dict[str, Any], listing: Path) -> None:
    """Put an entry into the list of songs, in place of an older one of the same file."""
    songs: list[dict[str, Any]] = []
    if listing.exists():
        songs = yaml.safe_load(listing.read_text(encoding="utf-8"))["songs"]
    names = [song["file"] for song in songs]
    if entry["file"] in names:
        songs[names.index(entry["file"])] = entry
    else:
        songs.append(entry)
    text = yaml.dump({"songs": songs}, Dumper=_Listing, sort_keys=False, allow_unicode=True, width=100)
    listing.write_text(_HEADER + text, encoding="utf-8")


class _Listing(yaml.SafeDumper):
    """YAML in which a list of plain values, a window or the traits, stands on one line."""

    def ignore_aliases(self, data: Any) -> bool:
        """Write in full what stands in two places: the program reads no aliases."""
        return True

    def represent_items(self, items: Sequence[Any]) -> yaml.SequenceNode:
        """Represent a list or tuple."""
        plain = all(isinstance(item, (str, float, int)) for item in items)
        return self.represent_sequence("tag:yaml.org,2002:seq", items, flow_style=plain)


_Listing.add_representer(tuple, _Listing.represent_items)
_Listing.add_representer(list, _Listing.represent_items)


_HEADER = """\
# The demo songs: where their bars are, what they measure, whose they are.
# Written by `python -m audio_demo.make`; a test measures every file again with an independent meter.
# Bar n (counted from 0) starts at first_downbeat_s + n * beats_per_bar * 60 / tempo_bpm seconds.
# A stem is one part's share of the mix: mix + (g - 1) * stem is the mix with that part changed by g.
# A reference is another, finished song of the same style and tempo; it is no song of the list.
# Windows are what a song of its style is to measure; measured is what it does.
"""
