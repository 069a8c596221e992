"""What a file goes through on its way, as moves."""

from __future__ import annotations

from trainer.dsp.delivery.coding import make_coding_moves
from trainer.dsp.delivery.word_length import WordLength
from trainer.dsp.move import Move

# The coding moves in here have no coder: whoever has one makes them with `make_coding_moves`.
MOVES_OF_FAMILY: tuple[Move, ...] = (WordLength(), *make_coding_moves())
