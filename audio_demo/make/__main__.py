"""Make the demo songs: ``python -m audio_demo.make [slug ...]`` in the root of the repository."""

from __future__ import annotations

import argparse
import sys
from multiprocessing import get_context
from pathlib import Path

from .workshop import SONGS, make_named


def main() -> None:
    """Play, mix, write and measure the songs named, or all."""
    parser = argparse.ArgumentParser(prog="python -m audio_demo.make", description="Make the demo songs.")
    parser.add_argument("slugs", nargs="*", metavar="slug", help=f"one of: {', '.join(SONGS)}")
    parser.add_argument("--folder", type=Path, default=Path(__file__).parents[1], help="where to write")
    arguments = parser.parse_args()
    if unknown := [slug for slug in arguments.slugs if slug not in SONGS]:
        parser.error(f"slug={unknown[0]}, expected one of: {', '.join(SONGS)}")
    arguments.folder.mkdir(parents=True, exist_ok=True)
    for slug in arguments.slugs or SONGS:
        # espeak-ng remembers the voices it has spoken with. In a process of its own a song comes out
        # the same alone and among others.
        process = get_context("spawn").Process(target=make_named, args=(slug, arguments.folder))
        process.start()
        process.join()
        if process.exitcode:
            sys.exit(process.exitcode)


if __name__ == "__main__":
    main()
