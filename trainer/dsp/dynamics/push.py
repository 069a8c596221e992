"""Pushing as a move: a soft clipper and the limiter, driven until the sound is so much louder."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np

from trainer.audio.clip import Clip
from trainer.dsp.colour.ceilings import BEND_BEGINS, SoftClip
from trainer.dsp.dynamics.driving import CLOSE_LU, Driven, Sketch, Trace, drive_to_loudness
from trainer.dsp.dynamics.limiter import MOST_DRIVE_DB, RUN_UP_RELEASES, SOFTEST_PEAK_DB, Limiter
from trainer.dsp.dynamics.limiting import Timing
from trainer.dsp.dynamics.limiting_effect import measure_limiting, tell_hits
from trainer.dsp.move import Effect, Need, Parameter, PlainMove, Settings, complete_settings, render_round
from trainer.dsp.processor import Chain, Processor, Rows, TellShare, run_through, tell_nothing
from trainer.errors import BadValue, NotReachable
from trainer.measure.contents import StretchContents
from trainer.measure.loudness import measure_integrated_lufs, measure_loop_lufs
from trainer.units import db_to_gain, write_number

LIMITER = Limiter()
# At this height over the ceiling no peak ever meets the clipper.
NO_CLIPPER_DB = 90.0


@dataclass(frozen=True)
class Gain:
    """Turn everything by a factor."""

    factor: float
    latency_frames: int = 0

    def process(self, block: Rows) -> Rows:
        """Turn a block."""
        return block * self.factor


@dataclass(frozen=True)
class Push(PlainMove):
    """Make sound louder than its peaks allow, as a master is: a soft clipper first, then the limiter.

    ``clip_over_db`` says how far above the ceiling the clipper's own level is; at 90 dB there is none. A limiter alone
    comes to an end at some loudness, whatever the drive.
    """

    name: str = "push"
    title: str = "Pushed louder"
    unit: str = "LU"
    effect_name: str = "push_lu"
    parameters: tuple[Parameter, ...] = (
        Parameter("drive_db", "dB", -60.0, 90.0, 0.0),
        Parameter("ceiling_dbtp", "dBTP", -12.0, 0.0, -1.0),
        Parameter("release_ms", "ms", 5.0, 1000.0, 60.0),
        Parameter("slow_release_ms", "ms", 50.0, 1300.0, 300.0),
        Parameter("clip_over_db", "dB", 0.0, NO_CLIPPER_DB, 1.0),
    )
    band_limited: bool = True
    holds_ceiling: bool = True

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Find the drive at which the loop is louder by ``amount`` LU; for 0 LU nothing is driven."""
        full = complete_settings(self, settings)
        if not (math.isfinite(amount) and amount >= 0):
            raise BadValue(self.name, "amount", f"{amount:g}", "0 LU or more")
        if amount == 0:
            return complete_settings(self, {**full, "drive_db": 0.0, "clip_over_db": NO_CLIPPER_DB})
        was = measure_loop_lufs(loop.samples, loop.rate_hz)
        driven = self._drive(loop, was + amount, full, partial(self._render_round, loop), _read_loop)
        if not driven.reached:
            most = driven.loudness_lufs - was
            raise NotReachable(f"{self.name}: amount={amount:g}, expected at most {most:.1f} LU on this excerpt")
        return complete_settings(self, {**full, "drive_db": driven.drive_db})

    def solve_song(
        self,
        song: Clip,
        loudness_lufs: float,
        settings: Settings,
        close_lu: float = CLOSE_LU,
        tell: TellShare = tell_nothing,
    ) -> Driven:
        """Drive a whole song to an integrated loudness; a ladder's rungs are solved so, and sections cut after it.

        Parameters
        ----------
        song : Clip
            The whole song, with the gentle end at 21 kHz on it (`prepare`).
        loudness_lufs : float
            What is asked, LUFS.
        settings : Settings
            Ceiling, releases and clipper.
        close_lu : float
            What is near enough.
        tell : callable
            Is told how far it is, 0 to 1. How many passes it takes is not known before: each takes half of what is
            left.

        Returns
        -------
        Driven
            With the song as rendered; ``reached`` is false where that loudness cannot be had, and what is given then
            is the most that can.
        """
        full = complete_settings(self, settings)
        passes = itertools.count()

        def render(driven: dict[str, float]) -> Clip:
            left = 0.5 ** next(passes)
            processor = self.begin(driven, song.rate_hz)
            return run_through(processor, song, tell=lambda share: tell(1 - left + left * share / 2))

        return self._drive(song, loudness_lufs, full, render, _read_song, close_lu)

    def begin(self, settings: Settings, rate_hz: int) -> Processor:
        """Begin in silence; the sound must hold nothing above 21 kHz."""
        full = complete_settings(self, settings)
        limit = {name: full[name] for name in ("ceiling_dbtp", "release_ms", "slow_release_ms")}
        stages: tuple[Processor, ...] = (Gain(db_to_gain(full["drive_db"])),)
        if full["clip_over_db"] < NO_CLIPPER_DB:
            stages += (SoftClip(full["ceiling_dbtp"] + full["clip_over_db"], rate_hz),)
        return Chain((*stages, LIMITER.begin(limit, rate_hz)))

    def run_up_s(self, settings: Settings) -> float:
        """Give the slower release the time to settle."""
        full = complete_settings(self, settings)
        return RUN_UP_RELEASES * max(full["release_ms"], full["slow_release_ms"]) / 1000

    def render(self, loop: Clip, settings: Settings) -> Clip:
        """Push the loop in steady state."""
        return render_round(self, loop, complete_settings(self, settings))

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Read how much louder it was before matching, the reduction, and what became of the hits."""
        full = complete_settings(self, settings)
        push_lu = _read_loop(after) - _read_loop(before) - level_gain_db
        resting = db_to_gain(full["drive_db"] + level_gain_db)
        effect = measure_limiting(before, after, resting)
        measured = {"push_lu": push_lu, **effect.measured}
        measured = {name: value for name, value in measured.items() if math.isfinite(value)}
        return Effect(measured.get("push_lu", 0.0), measured, effect.picture, _describe(measured))

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for what the limiter asks for."""
        return LIMITER.needs(contents, {})

    def _drive(
        self,
        clip: Clip,
        loudness_lufs: float,
        full: dict[str, float],
        render: Callable[[dict[str, float]], Clip],
        measure: Callable[[Clip], float],
        close_lu: float = CLOSE_LU,
    ) -> Driven:
        """Sketch, render and correct."""
        timing = Timing(full["release_ms"] / 1000, full["slow_release_ms"] / 1000)
        level_db = full["ceiling_dbtp"] + full["clip_over_db"]
        sketch = Sketch(clip, full["ceiling_dbtp"], timing, partial(_bend_peaks_db, level_db=level_db))
        if sketch.highest_peak_dbtp < SOFTEST_PEAK_DB:
            expected = f"sound with peaks above {SOFTEST_PEAK_DB:g} dBFS"
            raise BadValue(self.name, "peak_dbfs", f"{sketch.highest_peak_dbtp:.0f}", expected)
        most = min(full["ceiling_dbtp"] - sketch.highest_peak_dbtp + MOST_DRIVE_DB, self.parameters[0].high)
        return drive_to_loudness(
            sketch, lambda drive_db: render({**full, "drive_db": drive_db}), measure, loudness_lufs, most, close_lu
        )

    def _render_round(self, loop: Clip, full: dict[str, float]) -> Clip:
        return render_round(self, loop, full)


def _read_loop(loop: Clip) -> float:
    return measure_loop_lufs(loop.samples, loop.rate_hz)


def _read_song(song: Clip) -> float:
    return measure_integrated_lufs(song.samples, song.rate_hz)


def _bend_peaks_db(peaks_db: Trace, level_db: float) -> Trace:
    """Foretell peaks behind the soft clipper, whose bend begins 6 dB below its level."""
    begins_db = level_db + 20 * math.log10(BEND_BEGINS)
    over = np.maximum(10 ** (np.minimum(peaks_db, 200.0) / 20) - 10 ** (begins_db / 20), 0.0)
    room = 10 ** (level_db / 20) * (1 - BEND_BEGINS)
    bent = 10 ** (begins_db / 20) + room * np.tanh(over / room)
    return np.where(peaks_db > begins_db, 20 * np.log10(bent), peaks_db)


def _describe(measured: dict[str, float]) -> tuple[str, ...]:
    """Say in a sentence or two what the sound shows."""
    first = f"Pushed {write_number(measured.get('push_lu', 0.0))} LU louder, then turned down again to match."
    return (first, *tell_hits(measured, "The loudest hits stand"))
