"""The list of demo songs and the folder agree, and every song may be used."""

from __future__ import annotations

import hashlib
from itertools import pairwise

import pytest
import soundfile as sf

from tests.audio_demo.song_file import ENTRIES, FOLDER, SongFile
from trainer.files.library import list_demo_songs

LARGEST_BYTES = 10_500_000
LARGEST_TOTAL_BYTES = 50_000_000


def test_every_file_is_listed_and_every_listed_file_is_there() -> None:
    """Songs, stems and references are all the sound there is, and small enough for a repository."""
    stems = [stem["file"] for entry in ENTRIES for stem in entry["stems"]]
    references = [entry["reference"]["file"] for entry in ENTRIES if "reference" in entry]
    assert sorted([*(entry["file"] for entry in ENTRIES), *stems, *references]) == sorted(
        p.name for p in FOLDER.glob("*.flac")
    )
    assert sum(path.stat().st_size for path in FOLDER.glob("*.flac")) < LARGEST_TOTAL_BYTES


def test_neither_a_stem_nor_a_reference_is_a_song() -> None:
    """The program lists the songs and nothing else."""
    titles = [song.title for song in list_demo_songs()]
    assert titles == [entry["title"] for entry in ENTRIES]
    assert len(set(titles)) == len(titles)


def test_file_is_the_one_that_was_measured(song: SongFile) -> None:
    """The checksum holds, and the format is 48 kHz, stereo, 16 bits, of a size fit for a repository."""
    path = FOLDER / song.entry["file"]
    assert hashlib.sha256(path.read_bytes()).hexdigest() == song.entry["sha256"]
    info = sf.info(path)
    assert (info.format, info.subtype, info.samplerate, info.channels) == ("FLAC", "PCM_16", 48_000, 2)
    assert path.stat().st_size < LARGEST_BYTES
    assert 60.0 <= info.duration <= 80.0
    assert info.duration == pytest.approx(song.entry["length_s"], abs=0.001)


def test_song_is_free_to_use_and_says_whence_it_comes(song: SongFile) -> None:
    """Licence, sources and tools are stated, and the sound font's notice is kept beside the song."""
    assert song.entry["kind"] == "mix"
    assert song.entry["licence"] == "CC0-1.0"
    assert song.entry["sources"] and song.entry["made_with"]
    readme = (FOLDER / "README.md").read_text(encoding="utf-8")
    assert "Copyright © 2000-2002, 2008 Frank Wen" in readme
    assert song.entry["title"] in readme and song.entry["file"] in readme


def test_readme_gives_the_figures_of_the_list(song: SongFile) -> None:
    """The table's columns of loudness and true peak are those of the list, with a real minus."""
    readme = (FOLDER / "README.md").read_text(encoding="utf-8")
    header = next(line for line in readme.splitlines() if line.startswith("| |"))
    column = [cell.strip() for cell in header.split("|")].index(song.entry["title"])
    for name, row in (("integrated_lufs", "integrated loudness"), ("true_peak_dbtp", "true peak")):
        line = next(line for line in readme.splitlines() if line.startswith(f"| {row}"))
        shown = line.split("|")[column].strip().split(" ")[0].replace("−", "-").removeprefix("+")
        assert float(shown) == pytest.approx(song.entry["measured"][name], abs=0.051)


def test_sections_are_whole_bars_in_order(song: SongFile) -> None:
    """Sections follow one another on bar lines; closed form: first downbeat + n bars."""
    sections = song.entry["sections"]
    names = [section["name"] for section in sections]
    assert names[0] == "intro" and names[-1] == "ending"
    assert sum(name.startswith("verse") for name in names) >= 1
    assert sum(name.startswith("chorus") for name in names) >= 2
    assert sections[0]["start_s"] == pytest.approx(song.entry["first_downbeat_s"])
    for one, two in pairwise(sections):
        assert one["end_s"] == pytest.approx(two["start_s"])
    for section in sections:
        bars = (section["start_s"] - song.entry["first_downbeat_s"]) / song.bar_s
        assert bars == pytest.approx(round(bars), abs=1e-3)
    assert sections[-1]["end_s"] < len(song.audio) / song.rate_hz
