"""What a song gives a sweetening move to stand on: its loud loop behind the kept moves, and what that holds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from trainer.audio.clip import Clip
from trainer.decisions.balance import Comparison
from trainer.decisions.bounces import Stretch
from trainer.decisions.candidate_loops import cut_stretches
from trainer.decisions.evidence import Evidence
from trainer.decisions.sheet import Candidate
from trainer.decisions.song_results import list_steps, measure_results
from trainer.dsp.move import complete_settings
from trainer.dsp.moves import MOVES
from trainer.dsp.song_chain import render_song
from trainer.errors import NotReachable
from trainer.measure.contents import StretchContents, measure_contents
from trainer.units import write_number


@dataclass(frozen=True)
class Ground:
    """Hold a song behind its kept moves.

    Parameters
    ----------
    song : Clip
        The whole of it.
    loop : Clip
        Its loudest stretch, as a loop.
    evidence : Evidence
        What was measured of the mix.
    comparison : Comparison or None
        The mix against references, if there are any.
    """

    song: Clip
    loop: Clip
    evidence: Evidence
    comparison: Comparison | None = None

    def solve(self, move: str, amount: float, settings: Mapping[str, float]) -> dict[str, float]:
        """Find complete settings for an effect on the loud loop.

        Raises
        ------
        NotReachable
            If the loop lacks what the move needs, or does not allow the amount.
        """
        found = MOVES[move]
        full = complete_settings(found, settings)
        missing = [need for need in found.needs(self.measure(move, full), full) if not need.met]
        if missing:
            value = missing[0].value
            has = write_number(value, 3 if abs(value) < 1 else 1)
            raise NotReachable(f"The move needs {missing[0].expected}; the loudest stretch has less, {has}.")
        return found.solve(found.prepare(self.loop), amount, full)

    def measure(self, move: str, full: Mapping[str, float]) -> StretchContents:
        """Measure what the loop holds of what a move asks for."""
        bands = MOVES[move].bands_hz(full)
        return measure_contents(self.loop.samples, self.loop.rate_hz, bands).cut(0.0, self.loop.duration_s)

    def make_candidate(
        self, name: str, move: str, amount: float, settings: dict[str, float], reason: str, note: str = ""
    ) -> Candidate:
        """Make a candidate with what it does to the whole song."""
        results = measure_results(self.song, move, settings)
        unit = MOVES[move].unit
        return Candidate(name, "sweetening", "taste", move, amount, unit, settings, results, reason, note=note)


def lay_ground(
    song: Clip,
    evidence: Evidence,
    loud: Stretch,
    kept: Sequence[Candidate] = (),
    comparison: Comparison | None = None,
) -> Ground:
    """Render a song through its kept moves and cut the loop that amounts are asked on."""
    made = render_song(song, list_steps(kept))
    return Ground(made, cut_stretches(made, (loud,))[0], evidence, comparison)
