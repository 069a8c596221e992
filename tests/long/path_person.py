"""A simulated person who leads one mix from its aim to a checked bounce, in whatever face of the program."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

import numpy as np

from trainer.playback.silent import SilentPlayer

IMPRESSIONS = ("muddy", "the voice is close", "ends too soon")
MARK_S, MARK = 7.4, "click"
PREFERS, TELLS = 0.85, 0.97
# What both ears of this person like best: the second of the versions, with the move, or the second rung.
LIKED = 1
MOST_MOVES, MOST_ROUNDS, MOST_FINDINGS = 2, 3, 4
ASKS = ("Up to 12 picks, blind", "Tell them apart, up to 16 times", "Up to 12 picks more")
RUNG_ASKS = (
    "Compare every two, blind",
    "Up to 12 picks between",
    "Tell these two apart",
    "Up to 12 picks more",
)
NUMBERS = tuple(f"Make {count} {where}" for where in ("around", "from") for count in ("four", "three", "two"))
RUNG = re.compile(r"−\d+\.\d LUFS")
UNHEARD = ("; not yet weighed", "; does no harm")
UNDECIDED = "; undecided"
# Meant to be inaudible, and inaudible to this person.
HIGH_PASS = "High-pass"
# Hidden repeats alone: there is one rung, and nothing to compare it with.
NO_PAIRS = "Compare every two, blind: 5 picks"
DEPTHS = {16: "16 bits, dithered", 24: "24 bits", 32: "32 bits, floating point"}


@dataclass(frozen=True)
class Take:
    """Take an offer, or go to a step, by its words."""

    label: str


@dataclass(frozen=True)
class Write:
    """Write a line where one is asked for."""

    text: str


@dataclass(frozen=True)
class Hear:
    """Listen to a version by its number."""

    number: int


@dataclass(frozen=True)
class Answer:
    """Answer a blind question: 1 or 2."""

    number: int


@dataclass(frozen=True)
class Mark:
    """Mark a moment of a pass, s, and what was heard."""

    at_s: float
    kind: str


@dataclass(frozen=True)
class EndPass:
    """Hear a pass to its end."""


Act = Take | Write | Hear | Answer | Mark | EndPass


@dataclass(frozen=True)
class Shown:
    """Hold what a face shows: its lines, what can be taken, and the blind question, empty where there is none."""

    lines: tuple[str, ...] = ()
    offers: tuple[str, ...] = ()
    question: str = ""


class Face(Protocol):
    """Show the program."""

    def read(self) -> Shown:
        """Give what is shown now."""
        ...


class HeardPlayer(SilentPlayer):
    """Play without sound, by a clock of its own, and tell which version is heard."""

    def __init__(self, rate_hz: int) -> None:
        super().__init__(rate_hz, "", lambda: self.clock_s)
        self.clock_s = 0.0

    @property
    def heard(self) -> int:
        """Tell which version is heard, from 0."""
        return self.position().version


class WayLost(Exception):
    """Say that what the person looks for is not there, or that an answer led nowhere."""


@dataclass
class Person:
    """Decide by ear, and write down what is odd.

    Parameters
    ----------
    player : HeardPlayer
        What the ears hear.
    reference : str
        Path of the song to set beside the mix.
    out : Path
        Where the master goes.
    depth : int
        Its bits.
    rng : numpy.random.Generator
        For answers that are lots.
    """

    player: HeardPlayer
    reference: str
    out: Path
    depth: int
    rng: np.random.Generator
    answers: int = 0
    odd: list[str] = field(default_factory=list)

    def lead(self, face: Face) -> Iterator[Act]:
        """Go the whole way, one act after the other."""
        for words in IMPRESSIONS:
            yield Write(words)
        yield Take("Music streaming")
        yield Take("Next: listen through")
        yield Take("Begin the pass")
        yield Mark(MARK_S, MARK)
        yield EndPass()
        for finding in [offer for offer in face.read().offers if offer.endswith(UNDECIDED)][:MOST_FINDINGS]:
            yield Take(finding)
            yield Take(find_offer(face, ("It stays", "They stay")))
        yield Take("Take both as proposed")
        yield Take("Next: balance")
        yield Write(self.reference)
        yield Take("Compare")
        yield from self._weigh_moves(face)
        yield Take("Check for rumble")
        yield from self._weigh_moves(face, HIGH_PASS)
        yield Take("Next: sweetening")
        yield Take("Find candidates on this song")
        yield from self._weigh_moves(face)
        yield Take("Next: loudness")
        yield from self._choose_rung(face)
        yield Take("Next: delivery")
        yield from self._hear_whole(face)
        yield Take(DEPTHS[self.depth])
        yield Write(str(self.out))
        yield Take("A last listen, from start to end")
        yield EndPass()
        yield Take(find_offer(face, ("Finish",)))

    def _weigh_moves(self, face: Face, only: str = "") -> Iterator[Act]:
        """Weigh the first moves that are offered and not weighed yet, and decide as the ear said."""
        offers = face.read().offers
        names = [offer for offer in offers if offer.endswith(UNHEARD) and offer.startswith(only)]
        for name in names[:MOST_MOVES]:
            yield Take(name)
            for _ in range(MOST_ROUNDS):
                ask = next((offer for offer in face.read().offers if offer in ASKS), None)
                if ask is None:
                    break
                yield Take(ask)
                yield from self._answer_round(face, hears=not name.startswith(HIGH_PASS))
            keep = "Keep the move"
            yield Take(keep if keep in face.read().offers else "Leave it out")

    def _choose_rung(self, face: Face) -> Iterator[Act]:
        """Have four loudnesses made, hear them blind, and choose the second where none is chosen by that."""
        yield Take(find_offer(face, NUMBERS))
        if not any(offer.startswith(RUNG_ASKS) and offer != NO_PAIRS for offer in face.read().offers):
            self.odd.append("the song is too loud for two loudnesses around the aim")
            yield Take(find_offer(face, ("−14 to",)))
        for _ in range(MOST_ROUNDS + 1):
            ask = next((offer for offer in face.read().offers if offer.startswith(RUNG_ASKS)), None)
            if ask is None or ask == NO_PAIRS:
                break
            yield Take(ask)
            yield from self._answer_round(face)
        rungs = [offer for offer in face.read().offers if RUNG.fullmatch(offer)]
        rungs = rungs or [offer for offer in face.read().offers if offer.endswith("without listening")]
        if rungs:
            yield Take(rungs[min(LIKED, len(rungs) - 1)])
        else:
            self.odd.append("the song is as loud as the loudest that is offered")

    def _hear_whole(self, face: Face) -> Iterator[Act]:
        """Hear everything against the untouched mix."""
        for number in range(MOST_ROUNDS):
            # What was begun and is undecided is gone on with; else all is rendered.
            begun = (offer for offer in face.read().offers if offer in ASKS)
            yield Take(next(begun, "All moves against the untouched mix"))
            if not face.read().question:
                if not number:
                    self.odd.append("the whole was not asked")
                return
            yield from self._answer_round(face)

    def _answer_round(self, face: Face, hears: bool = True) -> Iterator[Act]:
        """Answer a round to its end: listen to every version, then say."""
        if not face.read().question:
            raise WayLost(f"no question came: {' / '.join(face.read().lines[:4])}")
        while question := face.read().question:
            versions = []
            for number in (1, 2, 3) if "X" in question else (1, 2):
                yield Hear(number)
                versions.append(self.player.heard)
            self.answers += 1
            yield Answer(self._decide(versions, hears))

    def _decide(self, versions: list[int], hears: bool) -> int:
        """Say which one is X, or which one is preferred; by lot where nothing is heard."""
        if len(versions) == 3:
            right, sure = (1 if versions[2] == versions[0] else 2), TELLS if hears else 0.5
        else:
            first, second = (abs(version - LIKED) for version in versions)
            right, sure = (1 if first < second else 2), PREFERS if first != second else 0.5
        return right if self.rng.random() < sure else 3 - right


def find_offer(face: Face, beginnings: tuple[str, ...]) -> str:
    """Find an offer by how it begins."""
    offers = face.read().offers
    found = next((offer for offer in offers if offer.startswith(beginnings)), None)
    if found is None:
        raise WayLost(f"{' or '.join(beginnings)} is not offered; there is {', '.join(offers)}")
    return found
