"""What blind listening tells of the moves on one song, and how long it takes: ``python -m tests.long songs``.

Simulated listeners go through the questions that the six steps ask: four moves, four loudnesses, and the whole at
last, which is asked where a move was kept. One hears nothing; one hears every difference, X told with 0.97, and
prefers by lot; one prefers each move with 0.85. Demanded: who hears nothing, or prefers by lot, keeps a move in at
most 5, and 8, of 100 cases; a true preference is told to be kept in 90 of 100 within two rounds; and blind listening
takes less than 35 minutes a song at 12 s an answer, in the mean of every listener. Beside the simulation stand closed
forms by scipy's binomial distribution. Then the songs are heard once more by one who keeps to the 35 minutes of a day.
The program proposes that by itself: a move, the loudnesses, or the whole is begun only where all its rounds still fit,
12 and 16 and 12, and before them every two of the loudnesses; what does not fit waits for another day, and begins anew.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

import numpy as np
from scipy.stats import binom

from tests.long.rounds import STRETCHES, TELLS, answer_round, begin_round, expect_answers
from trainer.decisions.candidate_verdicts import judge_candidate
from trainer.decisions.listening_budget import MOST_MINUTES, count_sitting, estimate_minutes, fits_in
from trainer.decisions.round_verdicts import Next, choose_pair, find_next
from trainer.decisions.rounds import Asked, Kind, Round, count_asked
from trainer.session.mixes.candidates import KINDS, MOST_A_SITTING

SONGS = 400
SEED = 31
PREFERS = 0.85
NOTHING_WANTED, LOT_WANTED, KEEP_WANTED = 0.95, 0.92, 0.90
RUNGS = ("a", "b", "c", "d")
MOVE = ("without", "with")
ASKED: dict[Next, Kind] = {**KINDS, "all": "all"}


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


@dataclass
class SongOnDays:
    """Hear one song, on one day, or on as many as its minutes ask for; the picks of each are counted."""

    listener: Listener
    rng: np.random.Generator
    one_day: bool
    picks: list[int]

    def ask(self, versions: tuple[str, ...]) -> list[Round]:
        """Go through the rounds on some versions, as the steps lead them."""
        held: list[Round] = []
        while (following := find_next(today := self._list_today(held), versions)) in ASKED:
            kind = ASKED[following]
            asked = count_asked(kind, len(versions)) if today else count_sitting(len(versions))
            if not self.one_day and not fits_in(self.picks[-1], asked):
                self.picks.append(0)
                continue
            begun = begin_round(kind, versions, choose_pair(today, versions) or (0, 1), self.rng)
            begun = replace(begun, stretches=STRETCHES, day=len(self.picks))
            held.append(answer_round(begun, self.listener.answer, self.rng))
            self.picks[-1] += len(held[-1].answers)
        return held

    def hear(self) -> list[str]:
        """Go through moves, loudnesses and the whole; gives the verdict on each move."""
        verdicts = [judge_candidate(self.ask(MOVE), "taste") for _ in range(MOST_A_SITTING)]
        self.ask(RUNGS)
        if "keep" in verdicts:
            self.ask(MOVE)
        return list(verdicts)

    def _list_today(self, held: list[Round]) -> list[Round]:
        return [each for each in held if each.day == len(self.picks)]


def expect_keep(prefers: float, tells: float) -> float:
    """Give the closed form: 12 picks for it; or undecided, X told, and 12 more for it."""
    keeps, leaves = binom.sf(9, 12, prefers), binom.cdf(2, 12, prefers)
    return float(keeps + (1 - keeps - leaves) * binom.sf(11, 16, tells) * keeps)


def expect_minutes(prefers: float, tells: float) -> float:
    """Give the closed form of a song on one day: five times the rounds on two, the ladder, and the whole if any."""
    undecided = binom.sf(2, 12, prefers) - binom.sf(9, 12, prefers)
    picks = expect_answers("prefer", prefers)
    two = picks + undecided * (expect_answers("apart", tells) + binom.sf(11, 16, tells) * picks)
    any_kept = 1 - (1 - expect_keep(prefers, tells)) ** MOST_A_SITTING
    return float((MOST_A_SITTING + 1 + any_kept) * two + count_asked("all", len(RUNGS))) * estimate_minutes(1)


def count_most() -> int:
    """Count the most answers a song can take: each of its six comparisons undecided, told, and asked again."""
    return (MOST_A_SITTING + 2) * count_sitting(2) + count_asked("all", len(RUNGS))


def hear_songs(listener: Listener, rng: np.random.Generator, one_day: bool) -> tuple[Counter[str], list[list[int]]]:
    """Hear all songs; gives the verdicts, and of each song the picks of each day."""
    counts: Counter[str] = Counter()
    picks = []
    for _ in range(SONGS):
        song = SongOnDays(listener, rng, one_day, [0])
        counts.update(song.hear())
        picks.append(song.picks)
    return counts, picks


def check_listener(name: str, rng: np.random.Generator) -> bool:
    """Print what one listener was told and how long it took; False if a demand is missed."""
    listener = LISTENERS[name]
    wanted = {"hears nothing": NOTHING_WANTED, "prefers by lot": LOT_WANTED}
    expected, expected_min = (form(listener.prefers, listener.tells) for form in (expect_keep, expect_minutes))
    kept = True
    for one_day in (True, False):
        counts, picks = hear_songs(listener, rng, one_day)
        total = sum(counts.values())
        share = counts["keep"] / total
        reached = 1 - share if name in wanted else share
        kept &= reached >= wanted.get(name, KEEP_WANTED)
        minutes = np.array([estimate_minutes(sum(each)) for each in picks])
        kept &= float(minutes.mean()) < MOST_MINUTES
        if one_day:
            error = float(np.sqrt(share * (1 - share) / total))
            kept &= abs(share - expected) <= 4 * error + 1e-3
            kept &= abs(float(minutes.mean()) - expected_min) <= 4 * float(minutes.std()) / np.sqrt(SONGS)
        told = ", ".join(f"{verdict} {100 * count / total:.1f} %" for verdict, count in counts.most_common())
        spread = f"median {np.median(minutes):.0f}, 95 of 100 under {np.percentile(minutes, 95):.0f}"
        print(f"  {name}, {'on one day' if one_day else 'keeping to the minutes of a day'}: {told}")
        print(f"    blind listening a song: mean {minutes.mean():.1f} min, {spread}, most {minutes.max():.0f}")
        if not one_day:
            kept &= _tell_days(picks)
    print(f"    closed forms: keep {100 * expected:.1f} %, {expected_min:.1f} min on one day")
    return kept


def _tell_days(picks: list[list[int]]) -> bool:
    """Print how many days the songs took, and how long each was; False if one was too long."""
    days = Counter(len(each) for each in picks)
    lengths = [estimate_minutes(count) for each in picks for count in each]
    shares = ", ".join(f"{count} in {100 * songs / len(picks):.0f} %" for count, songs in sorted(days.items()))
    spread = f"mean {np.mean(lengths):.0f} min, most {max(lengths):.0f}"
    print(f"    days a song: {shares}; a day's blind listening: {spread}")
    return max(lengths) <= MOST_MINUTES


def run() -> bool:
    """Print all; False if a demand is missed."""
    rng = np.random.default_rng(SEED)
    most = estimate_minutes(count_most())
    print(f"songs with {MOST_A_SITTING} moves, {SONGS} for each listener; a song takes at most {most:.0f} min")
    # Every listener is heard, also after one that missed.
    kept = [check_listener(name, rng) for name in LISTENERS]
    return all(kept)


if __name__ == "__main__":
    run()
