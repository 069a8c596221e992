"""The moves there are, by name."""

from __future__ import annotations

from trainer.dsp.dynamics.limiter import Limiter
from trainer.dsp.equaliser.high_shelf import HighShelf
from trainer.dsp.move import Move

MOVES: dict[str, Move] = {move.name: move for move in (HighShelf(), Limiter())}
