"""The long figures: ``python -m tests.long``, or some of them by name. Status 1 if one of them misses its demand."""

from __future__ import annotations

import sys

from tests.long import alignment, answers, curriculum, faults, path, proposals, rounds, songs, thresholds

FIGURES = {
    "thresholds": thresholds.run,
    "faults": faults.run,
    "curriculum": curriculum.run,
    "answers": answers.run,
    "alignment": alignment.run,
    "proposals": proposals.run,
    "rounds": rounds.run,
    "songs": songs.run,
    "path": path.run,
}

if __name__ == "__main__":
    unknown = [name for name in sys.argv[1:] if name not in FIGURES]
    if unknown:
        sys.exit(f"tests.long: {' '.join(unknown)}, expected any of {', '.join(FIGURES)}")
    # Every one is printed, also after one that missed.
    kept = [FIGURES[name]() for name in sys.argv[1:] or FIGURES]
    sys.exit(0 if all(kept) else 1)
