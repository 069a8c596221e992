"""What a move does to a whole song: rendered from start to end behind the moves that are kept, and measured."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from trainer.audio.clip import Clip
from trainer.decisions.sheet import Candidate, place_in_chain
from trainer.dsp.moves import MOVES
from trainer.dsp.processor import TellShare, tell_nothing, tell_part
from trainer.dsp.song_chain import Step, render_song
from trainer.measure.loudness import measure_integrated_lufs
from trainer.measure.true_peak import measure_true_peak

MEASURES: dict[str, Callable[[Clip], float]] = {
    "loudness_change_lu": lambda clip: measure_integrated_lufs(clip.samples, clip.rate_hz),
    "true_peak_change_db": lambda clip: measure_true_peak(clip.samples, clip.rate_hz).dbtp,
}
# Roughly the parts of the time that rendering takes: of the moves ahead, and of the move itself.
AHEAD, RENDERED = 0.4, 0.4


def list_steps(candidates: Sequence[Candidate]) -> tuple[Step, ...]:
    """List candidates as steps, in the order of the chain."""
    ordered = sorted(candidates, key=lambda each: place_in_chain(each.move))
    return tuple(Step(each.move, each.settings) for each in ordered)


def measure_candidate(
    song: Clip, candidate: Candidate, kept: Sequence[Candidate] = (), tell: TellShare = tell_nothing
) -> Candidate:
    """Give a candidate with what was measured on the whole song with it.

    Parameters
    ----------
    song : Clip
        The mix.
    candidate : Candidate
        Its settings complete.
    kept : sequence of Candidate
        The moves that go before and behind it.
    tell : callable
        Is told how much of the work is done, 0 to 1.

    Returns
    -------
    Candidate
        Results are those of the song as far as this move in the chain: what comes behind is left out.
    """
    place = place_in_chain(candidate.move)
    ahead = list_steps([each for each in kept if place_in_chain(each.move) <= place])
    share = AHEAD if ahead else 0.0
    before = render_song(song, ahead, tell=tell_part(tell, 0.0, share))
    told = tell_part(tell, share, 1 - share)
    return replace(candidate, results=measure_results(before, candidate.move, candidate.settings, told))


def measure_results(
    before: Clip, move: str, settings: dict[str, float], tell: TellShare = tell_nothing
) -> dict[str, float]:
    """Render a whole song through a move and measure both.

    Parameters
    ----------
    before : Clip
        The song as it comes to the move.
    move : str
        One that can run through a song.
    settings : dict of str to float
        Complete.
    tell : callable
        Is told how much of the work is done, 0 to 1.

    Returns
    -------
    dict of str to float
        What the move measures of itself; ``loudness_change_lu``, integrated; ``true_peak_change_db`` with its sign.
    """
    after = render_song(before, (Step(move, settings),), tell=tell_part(tell, 0.0, RENDERED))
    measured = MOVES[move].measure(before, after, settings).measured
    changes: dict[str, float] = {}
    for number, (name, measure) in enumerate(MEASURES.items(), 1):
        tell(RENDERED + (1 - RENDERED) * number / (len(MEASURES) + 1))
        was, became = (measure(clip) for clip in (before, after))
        changes[name] = became - was
    tell(1.0)
    return {name: value for name, value in (measured | changes).items() if math.isfinite(value)}
