"""The equaliser's moves."""

from __future__ import annotations

from trainer.dsp.equaliser.bell import Bell
from trainer.dsp.equaliser.filter_move import FilterMove
from trainer.dsp.equaliser.high_pass import HighPass
from trainer.dsp.equaliser.high_shelf import HighShelf
from trainer.dsp.equaliser.low_shelf import LowShelf
from trainer.dsp.equaliser.tilt import Tilt

EQUALISER_MOVES: tuple[FilterMove, ...] = (LowShelf(), HighShelf(), Bell(), Tilt(), HighPass())
