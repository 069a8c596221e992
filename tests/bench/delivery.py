"""Speeds of faults and delivery: word length and coding against pedalboard, each fault against one shelf filter."""

from __future__ import annotations

import pedalboard

from tests.bench.sounds import cut_song, rows_of
from tests.bench.timing import compare
from trainer.dsp.delivery.coding import make_coding_moves
from trainer.dsp.delivery.word_length import WordLength
from trainer.dsp.faults.moves import MOVES_OF_FAMILY
from trainer.errors import EvenhandError
from trainer.files.coding import ChildCoder

CODING_RUNS = 5
RATES_KBPS = {"mp3": 128.0, "vorbis": 128.0, "opus": 128.0}


def main() -> None:
    """Print the table."""
    loop = cut_song(20)
    channels, rate = rows_of(loop), loop.rate_hz
    word = WordLength()
    crush = pedalboard.Pedalboard([pedalboard.Bitcrush(12)])
    compare("word length with dither, 20 s", lambda: word.render(loop, {"word_bits": 12.0}),
            lambda: crush(channels, rate), "a bit crusher, no dither")  # fmt: skip

    shelf = pedalboard.Pedalboard([pedalboard.HighShelfFilter(8000, 3.0)])
    for move in MOVES_OF_FAMILY:
        try:
            settings = move.solve(loop, move.parameters[0].default or 6.0, {})
        except EvenhandError:
            continue
        compare(f"{move.name}, 20 s", lambda move=move, settings=settings: move.render(loop, settings),  # type: ignore[misc]
                lambda: shelf(channels, rate), "one shelf filter")  # fmt: skip

    lame = pedalboard.Pedalboard([pedalboard.MP3Compressor(2.0)])
    with ChildCoder() as coder:
        for coding in make_coding_moves(coder):
            asked = {"rate_kbps": RATES_KBPS[coding.name]}
            coding.render(loop, asked)

            def ours(coding=coding, asked=asked) -> object:  # type: ignore[no-untyped-def]
                return coding.render(loop, asked)

            name = f"{coding.name} there and back, 20 s"
            compare(name, ours, lambda: lame(channels, rate), "an MP3 effect, VBR 2", CODING_RUNS)


if __name__ == "__main__":
    main()
