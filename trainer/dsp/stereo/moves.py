"""The moves on level and on the two channels."""

from __future__ import annotations

from trainer.dsp.move import StreamingMove
from trainer.dsp.stereo.exchange import Polarity, SwapSides
from trainer.dsp.stereo.level import Level
from trainer.dsp.stereo.mono_below import MonoBelow
from trainer.dsp.stereo.part_level import PartLevel
from trainer.dsp.stereo.width import Mono, Width

PARTS: tuple[PartLevel, ...] = (
    PartLevel("voice_level", "Level of the voice", "voice"),
    PartLevel("bass_level", "Level of the bass", "bass"),
)
STEREO_MOVES: tuple[StreamingMove, ...] = (Level(), Width(), Mono(), MonoBelow(), Polarity(), SwapSides())
