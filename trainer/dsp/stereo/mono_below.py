"""Mono below a corner as a move: the side loses its bottom without any turn of phase, the middle is left alone."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import scipy

from trainer.audio.clip import Clip
from trainer.dsp.move import Effect, Need, Parameter, Picture, PlainMove, Settings, complete_settings, render_round
from trainer.dsp.processor import Overlapped, Processor, Rows
from trainer.dsp.stereo.matrix import require_sound
from trainer.dsp.stereo.sides import Sides, compare_sides, describe_sides, measure_sides, split_sides
from trainer.dsp.stereo.width import need_side
from trainer.errors import BadValue, NotReachable
from trainer.measure.contents import Band, StretchContents
from trainer.measure.response import Response, measure_response
from trainer.units import write_frequency, write_number

# The kernel is so many periods of the corner long: from half of it to half above, the side goes from none to all.
KERNEL_PERIODS = 4.0
KAISER_BETA = 6.0
QUANTUM_FRAMES = 4096
LOWEST_READ_HZ = 10.0
DEEPEST_READ_DB = 50.0
HALF_DB = -20 * math.log10(2)
# Common practice, no source: bass in the song, and some of it at the sides.
LEAST_BELOW_DB = -18.0
LEAST_SIDE_BELOW_DB = -24.0


@dataclass(frozen=True)
class MonoBelow(PlainMove):
    """Put everything below a corner in the middle; at the corner the side is 6 dB down."""

    name: str = "mono_below"
    title: str = "Mono below"
    unit: str = "Hz"
    effect_name: str = "mono_corner_hz"
    parameters: tuple[Parameter, ...] = (Parameter("mono_corner_hz", "Hz", 40.0, 400.0, 120.0),)

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Take the amount as the corner, where the loop has a side below it."""
        full = complete_settings(self, {**settings, "mono_corner_hz": amount})
        found = _side_below_db(loop, amount)
        if found < LEAST_SIDE_BELOW_DB:
            least = (
                f"a side of {write_number(LEAST_SIDE_BELOW_DB, 0)} dB or more below it, not {write_number(found, 0)}"
            )
            raise NotReachable(f"mono below: amount={amount:g}, expected {least}")
        return full

    def begin(self, settings: Settings, rate_hz: int) -> Processor:
        """Begin in silence."""
        kernel = design_low_pass(complete_settings(self, settings)["mono_corner_hz"], rate_hz)

        def take_low_side(rows: Rows) -> Rows:
            low = scipy.signal.oaconvolve((rows[0] - rows[1]) / 2, kernel, mode="same")
            return np.stack([rows[0] - low, rows[1] + low])

        return Overlapped(take_low_side, kernel.size // 2, QUANTUM_FRAMES)

    def run_up_s(self, settings: Settings) -> float:
        """Wait for the kernel's length."""
        return KERNEL_PERIODS / complete_settings(self, settings)["mono_corner_hz"]

    def render(self, loop: Clip, settings: Settings) -> Clip:
        """Take the low part of the side away, in steady state."""
        return render_round(self, loop, complete_settings(self, settings))

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Read the side's response against the middle's, and compare the channels of both."""
        complete_settings(self, settings)
        sides = (measure_sides(before), measure_sides(after))
        require_sound(self.title, sides)
        response = _read_side(before, after, _middle_gain_db(sides, level_gain_db))
        corner_hz = _find_corner_hz(response)
        measured = {"mono_corner_hz": corner_hz, **compare_sides(*sides)}
        for name, clip in (("before", before), ("after", after)):
            level = _side_below_db(clip, corner_hz)
            measured |= {f"side_below_corner_{name}_db": level} if math.isfinite(level) else {}
        points = tuple(zip(response.frequencies_hz.tolist(), response.gains_db.tolist(), strict=True))
        first = _describe(measured)
        sentences = tuple(filter(None, (first, describe_sides(measured))))
        return Effect(corner_hz, measured, Picture("response", points), sentences)

    def bands_hz(self, settings: Settings) -> tuple[Band, ...]:
        """Ask for the level below the corner."""
        return ((0.0, complete_settings(self, settings)["mono_corner_hz"]),)

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for bass, and for something at the sides."""
        corner = complete_settings(self, settings)["mono_corner_hz"]
        expected = f"{write_number(LEAST_BELOW_DB, 0)} or more: bass below {write_frequency(corner)}"
        below = Need("level_below_corner_db", contents.band_db[(0.0, corner)], LEAST_BELOW_DB, expected)
        side = contents.side_band_db[(0.0, corner)]
        least = f"{write_number(LEAST_SIDE_BELOW_DB, 0)} or more: something at the sides below the corner"
        return (below, need_side(contents), Need("side_below_corner_db", side, LEAST_SIDE_BELOW_DB, least))


@lru_cache(maxsize=16)
def design_low_pass(corner_hz: float, rate_hz: int) -> npt.NDArray[np.float64]:
    """Design the linear-phase low-pass for the side: half at the corner, exactly 1 at 0 Hz; odd length.

    Parameters
    ----------
    corner_hz : float
        Frequency with half of the amplitude.
    rate_hz : int
        Sampling rate.

    Returns
    -------
    ndarray of float64, shape (about 4 rate_hz / corner_hz,)

    Notes
    -----
    Windowed sinc, Kaiser's window (J. F. Kaiser, 1974, as scipy has it).
    """
    taps = int(round(KERNEL_PERIODS * rate_hz / corner_hz)) // 2 * 2 + 1
    return np.asarray(
        scipy.signal.firwin(taps, corner_hz, fs=rate_hz, window=("kaiser", KAISER_BETA)), dtype=np.float64
    )


def _describe(measured: dict[str, float]) -> str:
    """Say how far the side went below the corner that was read."""
    words = f"Below {write_frequency(measured['mono_corner_hz'])} the bass stands in the middle"
    was, became = (measured.get(f"side_below_corner_{when}_db") for when in ("before", "after"))
    if was is None or became is None:
        return words + "."
    return f"{words}: the sides went from {write_number(was, 0)} to {write_number(became, 0)} dB against it."


def _middle_gain_db(sides: tuple[Sides, Sides], level_gain_db: float) -> float:
    """Read by what all was turned from the middle, which the move leaves alone."""
    gain = sides[1].middle_db - sides[0].middle_db
    return gain if math.isfinite(gain) else level_gain_db


def _read_side(before: Clip, after: Clip, level_db: float) -> Response:
    """Measure the response of the side signal where it is not too far down."""
    was, became = (split_sides(clip)[1][:, None] for clip in (before, after))
    whole = measure_response(was, became, before.rate_hz, LOWEST_READ_HZ)
    gains = whole.gains_db - level_db
    kept = gains > -DEEPEST_READ_DB
    return Response(whole.frequencies_hz[kept], gains[kept])


def _find_corner_hz(response: Response) -> float:
    """Find where the side is 6 dB down."""
    away = response.gains_db - HALF_DB
    crossings = np.flatnonzero(np.sign(away[1:]) != np.sign(away[:-1]))
    if crossings.size == 0:
        raise BadValue("mono below", "side", "no corner", "a side signal in which a corner can be read")
    at = int(crossings[-1])
    x = np.log(response.frequencies_hz[at : at + 2])
    return float(np.exp(x[0] - away[at] / (away[at + 1] - away[at]) * (x[1] - x[0])))


def _side_below_db(loop: Clip, corner_hz: float) -> float:
    """Level of the side against the middle below a corner, dB; minus infinity where there is no side."""
    lines = np.fft.rfftfreq(loop.frames, 1 / loop.rate_hz)
    low = (lines > 0) & (lines < corner_hz)
    middle, side = (float((np.abs(np.fft.rfft(values)[low]) ** 2).sum()) for values in split_sides(loop))
    if side <= 0:
        return -math.inf
    return 10 * math.log10(side / middle) if middle > 0 else math.inf
