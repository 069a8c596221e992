"""What blind listening tells of the moves on one song, and how long it takes: ``python -m tests.long songs``.

Simulated listeners go through the questions that the six steps ask: four moves, four loudnesses, and the whole at
last, which is asked where a move was kept. One hears nothing; one hears every difference, X told with 0.97, and
prefers by lot; one prefers each move with 0.85. Demanded: who hears nothing, or prefers by lot, keeps a move in at
most 5, and 8, of 100 cases; a true preference is told to be kept in 90 of 100 within two rounds; and blind listening
takes less than 35 minutes a song at 12 s an answer, in the mean of the listeners. Beside the simulation stand closed
forms by scipy's binomial distribution.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

import numpy as np
from scipy.stats import binom

from tests.long.rounds import STRETCHES, TELLS, answer_round, begin_round
from trainer.decisions.candidate_verdicts import judge_candidate
from trainer.decisions.round_verdicts import choose_pair, find_next
from trainer.decisions.rounds import Asked, Round
from trainer.session.mixes.candidates import KINDS, MOST_A_SITTING

SONGS = 400
SEED = 31
SECONDS, MOST_MINUTES = 12, 35
PREFERS = 0.85
NOTHING_WANTED, LOT_WANTED, KEEP_WANTED = 0.95, 0.92, 0.90
RUNGS = ("a", "b", "c", "d")
MOVE = ("without", "with")


@dataclass(frozen=True)
class Listener:
    """Answer with a preference for what is moved, and with ears that tell X or do not."""

    prefers: float
    tells: float

    def answer(self, asked: Asked, rng: np.random.Generator) -> str:
        """Tell X, or pick the version with the higher number with the probability of the preference."""
        if asked.right_answer:
            first = self.tells if asked.right_answer == "1" else 1 - self.tells
        else:
            first = self.prefers if asked.sounds[0] > asked.sounds[1] else 1 - self.prefers
        return "1" if rng.random() < first else "2"


LISTENERS = {
    "hears nothing": Listener(0.5, 0.5),
    "prefers by lot": Listener(0.5, TELLS),
    "prefers the moves": Listener(PREFERS, TELLS),
}


def ask(versions: tuple[str, ...], listener: Listener, rng: np.random.Generator) -> list[Round]:
    """Go through one sitting on some versions, as the steps lead it."""
    kinds = {**KINDS, "all": "all"}
    held: list[Round] = []
    while (following := find_next(held, versions)) in kinds:
        pair = choose_pair(held, versions) or (0, 1)
        begun = begin_round(kinds[following], versions, pair, rng)  # type: ignore[arg-type]
        held.append(answer_round(replace(begun, stretches=STRETCHES), listener.answer, rng))
    return held


def hear_song(listener: Listener, rng: np.random.Generator) -> tuple[list[str], int]:
    """Go through one song; gives the verdict on each move and the number of answers."""
    moves = [ask(MOVE, listener, rng) for _ in range(MOST_A_SITTING)]
    verdicts = [judge_candidate(rounds, "taste") for rounds in moves]
    sittings = [*moves, ask(RUNGS, listener, rng)]
    if "keep" in verdicts:
        sittings.append(ask(MOVE, listener, rng))
    return verdicts, sum(len(each.answers) for rounds in sittings for each in rounds)


def expect_keep(prefers: float, tells: float) -> float:
    """Give the closed form: 12 picks for it; or undecided, X told, and 12 more for it."""
    keeps, leaves = binom.sf(9, 12, prefers), binom.cdf(2, 12, prefers)
    return float(keeps + (1 - keeps - leaves) * binom.sf(11, 16, tells) * keeps)


def run() -> bool:
    """Print all; False if a demand is missed."""
    rng, kept = np.random.default_rng(SEED), True
    means: list[float] = []
    wanted = {"hears nothing": NOTHING_WANTED, "prefers by lot": LOT_WANTED}
    print(f"songs with {MOST_A_SITTING} moves, {SONGS} for each listener")
    for name, listener in LISTENERS.items():
        counts: Counter[str] = Counter()
        minutes = []
        for _ in range(SONGS):
            verdicts, answers = hear_song(listener, rng)
            counts.update(verdicts)
            minutes.append(answers * SECONDS / 60)
        total = sum(counts.values())
        share = counts["keep"] / total
        error = float(np.sqrt(share * (1 - share) / total))
        expected = expect_keep(listener.prefers, listener.tells)
        reached = 1 - share if name in wanted else share
        kept &= reached >= wanted.get(name, KEEP_WANTED) and abs(share - expected) <= 4 * error + 1e-3
        means.append(float(np.mean(minutes)))
        told = ", ".join(f"{verdict} {100 * count / total:.1f} %" for verdict, count in counts.most_common())
        print(f"  {name}: {told}; closed form of keep {100 * expected:.1f} %")
        spread = np.percentile(minutes, (50, 95))
        most = f"95 of 100 under {spread[1]:.0f} min"
        print(f"    blind listening: mean {means[-1]:.0f}, median {spread[0]:.0f}, {most}")
    print(f"  mean of the listeners: {np.mean(means):.0f} min of blind listening a song")
    return kept and float(np.mean(means)) < MOST_MINUTES


if __name__ == "__main__":
    run()
