"""The moves on level and on the two channels."""

from __future__ import annotations

from trainer.dsp.move import StreamingMove
from trainer.dsp.stereo.exchange import Polarity, SwapSides
from trainer.dsp.stereo.level import Level
from trainer.dsp.stereo.mono_below import MonoBelow
from trainer.dsp.stereo.width import Mono, Width

STEREO_MOVES: tuple[StreamingMove, ...] = (Level(), Width(), Mono(), MonoBelow(), Polarity(), SwapSides())
