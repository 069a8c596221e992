"""Moves one after the other over a whole song, from start to end."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from trainer.audio.clip import Clip
from trainer.dsp.band_limit import begin_band_limit
from trainer.dsp.move import Move, StreamingMove, complete_settings
from trainer.dsp.moves import MOVES
from trainer.dsp.processor import Chain, Processor, TellShare, run_through, tell_nothing
from trainer.errors import BadValue


@dataclass(frozen=True)
class Step:
    """Name a move with its settings."""

    move: str
    settings: Mapping[str, float] = field(default_factory=dict)


def begin_chain(steps: Sequence[Step], rate_hz: int, moves: Mapping[str, Move] = MOVES) -> Processor:
    """Begin a chain in silence; the gentle end at 21 kHz goes ahead of the first step that needs it.

    Parameters
    ----------
    steps : sequence of Step
        In the order in which the sound passes them.
    rate_hz : int
        Sampling rate.
    moves : mapping of str to Move
        The moves by name.

    Raises
    ------
    BadValue
        If a move is not known, cannot run through a whole song, or has a wrong setting.
    """
    stages: list[Processor] = []
    limited = False
    for step in steps:
        move = find_streaming(step.move, moves)
        if move.holds_ceiling and not limited:
            stages.append(begin_band_limit(rate_hz))
            limited = True
        stages.append(move.begin(complete_settings(move, step.settings), rate_hz))
    return Chain(tuple(stages))


def render_song(
    song: Clip, steps: Sequence[Step], moves: Mapping[str, Move] = MOVES, tell: TellShare = tell_nothing
) -> Clip:
    """Send a whole song through a chain: same length, not late; without steps, the song itself."""
    return run_through(begin_chain(steps, song.rate_hz, moves), song, tell=tell) if steps else song


def find_streaming(name: str, moves: Mapping[str, Move]) -> StreamingMove:
    """Find a move that can run through a whole song.

    Raises
    ------
    BadValue
        If there is none of that name.
    """
    able = [known for known, move in moves.items() if hasattr(move, "begin")]
    if name not in able:
        raise BadValue("chain", "move", name, f"one of {', '.join(able)}")
    move: StreamingMove = moves[name]  # type: ignore[assignment]
    return move
