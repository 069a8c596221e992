"""Set the release: a control over release times, each at the same reduction of the hits, and a window that fits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from trainer.dsp.move import Effect
from trainer.errors import BadValue, NotReachable
from trainer.exercise.drill import Drill
from trainer.exercise.forms.amounts import read_amount
from trainer.exercise.forms.form import AS_IT_IS, FIRST, AnswerKind, Grade, Layout, Placement, PlainForm, Take, Turn

RELEASES_MS = (20.0, 50.0, 120.0, 300.0, 700.0, 1500.0, 3000.0)
# Nearly as much of the gain is back before the next hit as with the fastest release: common practice, no source.
BACK_SHARE = 0.75
# Amplitude modulation of noise is heard from about -26 dB on below 50 Hz; from memory, with a little to spare.
ROUGHEST_DB = -28.0
BACK, ROUGH = "recovery_between_hits_percent", "roughness_on_bass_db"


@dataclass(frozen=True)
class SetRelease(PlainForm):
    """Find a release that lets the gain come back before the next hit and does not roughen the bass.

    The threshold is solved anew for each release, so that the hits are turned down alike.
    """

    name: str = "set_release"
    title: str = "Set the release"
    answer_kind: AnswerKind = "amount"
    placement: Placement = "fixed"

    def task(self, drill: Drill) -> str | None:
        """Link: none; what counts is how often the window is met."""
        return None

    def lay_out(self, drill: Drill, amount: float, rng: np.random.Generator, turn: Turn = FIRST) -> Layout:
        """Put the loop as it is first, then the control's versions."""
        takes = tuple(Take(drill.move, amount, {**drill.settings, "release_ms": each}) for each in RELEASES_MS)
        labels = ("1, as it is", *(f"2, release {each:g} ms" for each in RELEASES_MS))
        return Layout((AS_IT_IS, *takes), labels, (), "", 1, RELEASES_MS, "ms", "Set to")

    def settle(self, layout: Layout, effects: Sequence[Effect | None]) -> Layout:
        """Find the window from what the sounds show.

        Raises
        ------
        NotReachable
            If on this excerpt no release fits, or nearly all do.
        """
        figures = [effect.measured for effect in effects[1:] if effect is not None]
        fastest = max((each.get(BACK, 0.0) for each in figures), default=0.0)
        fits = [
            each.get(BACK, 0.0) >= BACK_SHARE * fastest > 0 and each.get(ROUGH, -99.0) <= ROUGHEST_DB
            for each in figures
        ]
        if not any(fits) or all(fits):
            raise NotReachable(f"{self.name}: releases_that_fit={sum(fits)}, expected some of them, not all")
        inside = [release for release, fit in zip(RELEASES_MS, fits, strict=True) if fit]
        target = 1 + fits.index(True) + (sum(fits) - 1) // 2
        return replace(layout, right_answer=f"{inside[0]:g} {inside[-1]:g}", target=target)

    def read_answer(self, text: str, layout: Layout) -> str:
        """Read a time within the control's range, ms."""
        if " " in text.strip().removesuffix(" ms"):
            raise BadValue("answer", "amount", text.strip(), "one release time in ms")
        return read_amount(text, "ms", RELEASES_MS[0], RELEASES_MS[-1])

    def grade(self, answer: str, layout: Layout, drill: Drill) -> Grade:
        """Tell whether the time lies in the window."""
        low, high = (float(edge) for edge in layout.right_answer.split())
        given = float(answer)
        nearest = min(max(given, low), high)
        octaves = abs(float(np.log2(given / nearest)))
        span = f"only {low:g} ms" if low == high else f"{low:g} to {high:g} ms"
        words = f"{given:g} ms; here {span} fits."
        return Grade(octaves == 0, 1 / (1 + octaves), given - nearest, words)
