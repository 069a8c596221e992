"""The moves there are, by name."""

from __future__ import annotations

from trainer.dsp.colour.moves import MOVES_OF_COLOUR
from trainer.dsp.delivery.coding import Coder, make_coding_moves
from trainer.dsp.delivery.moves import MOVES_OF_FAMILY as MOVES_OF_DELIVERY
from trainer.dsp.dynamics.limiter import Limiter
from trainer.dsp.dynamics.moves import MOVES_OF_FAMILY as MOVES_OF_DYNAMICS
from trainer.dsp.dynamics.push import Push
from trainer.dsp.dynamics.song_push import SongPush
from trainer.dsp.equaliser.moves import EQUALISER_MOVES
from trainer.dsp.faults.moves import MOVES_OF_FAMILY as FAULTS
from trainer.dsp.move import Move
from trainer.dsp.stereo.moves import PARTS, STEREO_MOVES

_ALL: tuple[Move, ...] = (
    *EQUALISER_MOVES,
    *MOVES_OF_COLOUR,
    *MOVES_OF_DYNAMICS,
    Limiter(),
    Push(),
    SongPush(),
    *STEREO_MOVES,
    *PARTS,
    *FAULTS,
    *MOVES_OF_DELIVERY,
)
MOVES: dict[str, Move] = {move.name: move for move in _ALL}


def list_moves_with(coder: Coder) -> dict[str, Move]:
    """Give all moves, the coding ones with a coder."""
    return {**MOVES, **{move.name: move for move in make_coding_moves(coder)}}
