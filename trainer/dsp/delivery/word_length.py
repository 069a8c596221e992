"""Word length: a song in fewer bits, with the error made steady by dither or left to follow the music."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from trainer.audio.clip import Clip
from trainer.audio.dither import FEWEST_BITS, MOST_BITS, TPDF_LSB, Quantiser
from trainer.dsp.delivery.steps import find_step
from trainer.dsp.move import Effect, Need, Parameter, Picture, PlainMove, Settings, complete_settings, render_round
from trainer.dsp.processor import Processor
from trainer.errors import BadValue, NotReachable
from trainer.measure.contents import StretchContents
from trainer.measure.loudness import measure_loop_level_db
from trainer.units import db_to_gain, write_number

SEED = 16
TRIES = 12
CLOSEST = 0.002
PICTURE_STEP_S = 0.02
SWING_STEP_S = 0.05
STEADY_DB = 1.0
LOWEST_DB = -200.0
LEAST_GAP_DB = 12.0


@dataclass(frozen=True)
class WordLength(PlainMove):
    """Round every sample to a step.

    The amount is the K-weighted level of the error, in per cent of the song's, as for everything that lies under a
    song: it stays the same when the song is turned up or down as a whole, and each bit less doubles it. Word lengths
    between whole bits are steps that are no power of two; the error grows with the step alike.
    """

    name: str = "word_length"
    title: str = "Word length"
    unit: str = "percent"
    effect_name: str = "noise_percent"
    at_ending: bool = True
    parameters: tuple[Parameter, ...] = (
        Parameter("word_bits", "bits", FEWEST_BITS, MOST_BITS, 16.0),
        Parameter("dither_lsb", "LSB", 0.0, TPDF_LSB, TPDF_LSB, (0.0, TPDF_LSB)),
    )

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Find the word length, in bits and parts of a bit, whose error has the level asked for.

        Raises
        ------
        NotReachable
            If 8 bits do not give so much on this loop, or 24 bits still more, with the nearest.
        """
        full = complete_settings(self, settings)
        if not amount > 0:
            raise BadValue(self.name, "amount", f"{amount:g}", "more than 0 percent of the song")
        _require_sound(loop)
        song_db = measure_loop_level_db(loop.samples, loop.rate_hz)
        if not math.isfinite(song_db):
            raise BadValue(self.name, "loudness_lufs", "−∞", "a sound that can be heard")

        def make(bits: float) -> float:
            error = self.render(loop, {**full, "word_bits": bits}).samples.astype(np.float64) - loop.samples
            return 100 * 10 ** ((measure_loop_level_db(error, loop.rate_hz) - song_db) / 20)

        bits = FEWEST_BITS
        made = make(bits)
        for _ in range(TRIES):
            if abs(made - amount) <= CLOSEST * amount:
                return {**full, "word_bits": bits}
            # One bit doubles the error, or nearly so.
            step = math.log2(made / amount) if made > 0 else -1.0
            bits, last = min(max(bits + step, FEWEST_BITS), MOST_BITS), bits
            if bits == last:
                break
            made = make(bits)
        raise NotReachable(f"word length: amount={amount:g}, expected about {made:.2g} percent on this excerpt")

    def begin(self, settings: Settings, rate_hz: int) -> Processor:
        """Begin with the first of the dither's numbers, which are the same every time."""
        full = complete_settings(self, settings)
        return Quantiser(full["word_bits"], full["dither_lsb"], np.random.default_rng(SEED))

    def run_up_s(self, settings: Settings) -> float:
        """Forget at once."""
        return 0.0

    def render(self, loop: Clip, settings: Settings) -> Clip:
        """Round the loop; digital silence stays as it is, with dither too."""
        full = complete_settings(self, settings)
        return render_round(self, loop, full) if loop.samples.any() else loop

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Read the error's level from the difference, how it swings, and the step from the values that occur.

        ``used_bits`` is what the highest sample needs; ``noise_dbfs`` is the RMS value against full scale, as played.
        """
        _require_sound(before)
        x = before.samples.astype(np.float64)
        y = after.samples.astype(np.float64) / db_to_gain(level_gain_db)
        error, step = y - x, find_step(y)
        under_db = measure_loop_level_db(error, before.rate_hz) - measure_loop_level_db(x, before.rate_hz)
        under_db = max(under_db, LOWEST_DB) if math.isfinite(under_db) else LOWEST_DB
        measured = {
            "noise_percent": 100 * 10 ** (under_db / 20),
            "noise_over_song_db": under_db,
            "noise_dbfs": _rms_db(error),
            "used_bits": 1.0 + math.log2(max(float(np.abs(y).max()) / step, 0.5)),
            "noise_swing_db": _measure_swing_db(error, before.rate_hz),
        }
        return Effect(measured["noise_percent"], measured, _draw(before, error), (_describe(measured),))

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for a quiet moment: under full sound the error is covered."""
        expected = f"{write_number(LEAST_GAP_DB, 0)} dB or more: a quiet tail"
        return (Need("gap_depth_db", -contents.gap_db, LEAST_GAP_DB, expected),)


def _require_sound(loop: Clip) -> None:
    if not loop.samples.any():
        raise BadValue("word length", "sound", "silence", "a sound to round")


def _measure_swing_db(error: np.ndarray, rate_hz: int) -> float:
    """Measure how far the error's level swings: its 95th over its 5th percentile in steps of 50 ms, dB, 60 at most."""
    length = max(1, int(SWING_STEP_S * rate_hz))
    steps = error[: max(1, error.shape[0] // length) * length].reshape(-1, min(length, error.shape[0]) * 2)
    power = (steps**2).mean(axis=1)
    loud, soft = (float(np.percentile(power, share)) for share in (95, 5))
    return min(10 * math.log10(loud / max(soft, loud * 1e-6)), 60.0) if loud > 0 else 0.0


def _rms_db(wave: np.ndarray) -> float:
    power = float((wave**2).mean())
    return max(10 * math.log10(power), LOWEST_DB) if power > 0 else LOWEST_DB


def _draw(before: Clip, error: np.ndarray) -> Picture:
    """Draw the level of the error over time, dBFS, in steps of 20 ms."""
    length = max(1, int(PICTURE_STEP_S * before.rate_hz))
    starts = np.arange(0, error.shape[0], length)
    sizes = np.diff(np.append(starts, error.shape[0]))
    power = np.add.reduceat((error**2).sum(axis=1), starts) / (2 * sizes)
    level = 10 * np.log10(np.maximum(power, 10 ** (LOWEST_DB / 10)))
    return Picture("level", tuple(zip((starts / before.rate_hz).tolist(), level.tolist(), strict=True)))


def _describe(measured: dict[str, float]) -> str:
    """Say what the sound shows."""
    swing_db = measured["noise_swing_db"]
    kind = (
        "it is steady" if swing_db < STEADY_DB else f"its level swings by {write_number(swing_db, 0)} dB with the music"
    )
    return (
        f"Noise {write_number(-measured['noise_over_song_db'], 0)} dB below the song, at "
        f"{write_number(measured['noise_dbfs'], 0)} dBFS as played; {kind}."
    )
