"""The compressor against a plain one without side-chain, slow release or steady state."""

from __future__ import annotations

import numpy as np
import pedalboard

from tests.bench.sounds import cut_song, print_scratch, rows_of
from tests.bench.timing import compare
from trainer.dsp.dynamics.compressor import Compressor
from trainer.dsp.dynamics.compressor_processor import CompressorProcessor
from trainer.dsp.dynamics.compressor_settings import read_compression
from trainer.dsp.dynamics.moves import MOVES_OF_FAMILY
from trainer.dsp.move import complete_settings
from trainer.dsp.processor import run_through
from trainer.errors import EvenhandError

SETTINGS = {"threshold_dbfs": -20.0, "ratio_to_1": 4.0, "attack_ms": 10.0, "release_ms": 100.0}
KINDS = {"plain": {}, "side-chain and slow release": {"side_chain_hz": 100.0, "slow_release_ms": 1500.0}}
PLUGIN = "a plain compressor"


def main() -> None:
    """Print the compressors' rows."""
    move = Compressor()
    for length_s, runs in ((20, 9), (240, 5)):
        clip = cut_song(length_s)
        rows, rate = rows_of(clip), clip.rate_hz
        wide = rows.astype(np.float64)
        name = "20 s" if length_s == 20 else "4 min, in blocks"
        for kind, extra in KINDS.items():
            full = complete_settings(move, {**SETTINGS, **extra})

            def ours(clip=clip, rate=rate, wide=wide, full=full) -> object:  # type: ignore[no-untyped-def]
                if clip.duration_s > 60:
                    return run_through(move.begin(full, rate), clip)
                return CompressorProcessor(read_compression(full), rate).process(wide)

            def theirs(rows=rows, rate=rate) -> object:  # type: ignore[no-untyped-def]
                return pedalboard.Compressor(-20.0, 4.0, 10.0, 100.0)(rows, rate)

            compare(f"compressor, {kind}, {name}", ours, theirs, PLUGIN, runs)
            print_scratch(f"compressor, {kind}, {name}", ours, clip)
    loop = cut_song(8)
    for solved in MOVES_OF_FAMILY:

        def solve(solved=solved) -> object:  # type: ignore[no-untyped-def]
            try:
                return solved.solve(loop, 1.0, {})
            except EvenhandError as error:
                return error

        compare(f"solver of {solved.name}, 8 s", solve,
                lambda: pedalboard.Compressor(-20.0, 4.0, 10.0, 100.0)(rows_of(loop), loop.rate_hz),
                PLUGIN, 3)  # fmt: skip


if __name__ == "__main__":
    main()
