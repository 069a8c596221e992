"""Measure speeds: ``python -m tests.bench``. Medians of interleaved runs; quote the ratios, not the times."""

from __future__ import annotations

import importlib
import pkgutil

import tests.bench as bench

SHARED = {"__main__", "timing", "sounds", "screen"}


def main() -> None:
    """Print the table, family by family."""
    for module in sorted(pkgutil.iter_modules(bench.__path__), key=lambda found: found.name):
        if module.name not in SHARED:
            print(f"-- {module.name}")
            importlib.import_module(f"tests.bench.{module.name}").main()


if __name__ == "__main__":
    main()
