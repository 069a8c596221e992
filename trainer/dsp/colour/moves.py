"""The moves that colour, in the order in which they are listed."""

from __future__ import annotations

from trainer.dsp.colour.clipping import Clipping
from trainer.dsp.colour.saturation import Saturation
from trainer.dsp.colour.top_harmonics import TopHarmonics
from trainer.dsp.move import Move

MOVES_OF_COLOUR: tuple[Move, ...] = (
    Saturation(),
    TopHarmonics(),
    Clipping("hard_clip", "Hard clipping", soft=False),
    Clipping("soft_clip", "Soft clipping", soft=True),
)
