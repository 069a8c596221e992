"""The moves of this family but the limiter."""

from __future__ import annotations

from trainer.dsp.dynamics.attack import Attack
from trainer.dsp.dynamics.compressor import Compressor, CompressorOnAverage, HeldDown, Pumping
from trainer.dsp.dynamics.de_esser import DeEsser
from trainer.dsp.dynamics.multiband import Multiband
from trainer.dsp.dynamics.release import Release
from trainer.dsp.dynamics.side_chain_filter import SideChainFilter
from trainer.dsp.move import Move

MOVES_OF_FAMILY: tuple[Move, ...] = (
    Compressor(),
    CompressorOnAverage(),
    HeldDown(),
    Pumping(),
    Release(),
    Attack(),
    SideChainFilter(),
    Multiband(),
    DeEsser(),
)
