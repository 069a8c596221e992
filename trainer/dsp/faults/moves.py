"""The faults, as moves."""

from __future__ import annotations

from trainer.dsp.faults.bad_edit import BadEdit
from trainer.dsp.faults.click import Click
from trainer.dsp.faults.clipped_run import ClippedRun
from trainer.dsp.faults.dropout import Dropout
from trainer.dsp.faults.ending import Ending, make_short_fade
from trainer.dsp.faults.intersample import IntersampleOver
from trainer.dsp.faults.pop import Pop
from trainer.dsp.faults.sibilance import Sibilance
from trainer.dsp.faults.steady import Hiss, Hum
from trainer.dsp.move import Move

MOVES_OF_FAMILY: tuple[Move, ...] = (
    Click(),
    Pop(),
    Hiss(),
    Hum(),
    Dropout(),
    ClippedRun(),
    Sibilance(),
    BadEdit(),
    Ending(),
    make_short_fade(),
    IntersampleOver(),
)
