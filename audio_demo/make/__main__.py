"""Make the demo songs: ``python -m audio_demo.make [slug ...]`` in the root of the repository."""

from __future__ import annotations

import argparse
from pathlib import Path

from .delivery import describe, finish, record, write_song
from .desk import summed
from .songs.breakwater_mix import SONG as BREAKWATER

SONGS = {song.slug: song for song in (BREAKWATER,)}


def main() -> None:
    """Play, mix, write and measure the songs named, or all."""
    parser = argparse.ArgumentParser(prog="python -m audio_demo.make", description="Make the demo songs.")
    parser.add_argument("slugs", nargs="*", metavar="slug", help=f"one of: {', '.join(SONGS)}")
    parser.add_argument("--folder", type=Path, default=Path(__file__).parents[1], help="where to write")
    arguments = parser.parse_args()
    arguments.folder.mkdir(parents=True, exist_ok=True)
    for slug in arguments.slugs or SONGS:
        song = SONGS[slug]
        path = write_song(song, finish(summed(song.combine(song.perform()))), arguments.folder)
        entry = describe(song, path)
        record(entry, arguments.folder / "songs.yaml")
        print(f"{path.name}: {path.stat().st_size / 1e6:.1f} MB, sha256 {entry['sha256']}")
        for name, value in entry["measured"].items():
            print(f"  {name:22} {value:8.2f}")


if __name__ == "__main__":
    main()
