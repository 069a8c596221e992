"""Endings: a tail cut off, and a fade that is over too soon and then waits in silence."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy

from trainer.audio.clip import Clip
from trainer.audio.fades import make_rise
from trainer.dsp.faults.fault import Fault, draw_change, find_first, need_gap, read_change
from trainer.dsp.faults.planted import Planted, Wave, require_sound
from trainer.dsp.move import Effect, Need, Parameter, Settings
from trainer.errors import NotReachable
from trainer.measure.contents import StretchContents
from trainer.units import write_number

# A tail is over where it is so far under the loudest moment, or where the noise in the gap begins to show.
FLOOR_DB = -60.0
OVER_GAP_DB = 6.0
# A tail worth listening to falls at least so far.
LEAST_FALL_DB = 25.0
# It begins behind the last moment that is so little under the loudest.
TAIL_FROM_DB = 12.0
GAP_S = 0.1
AVERAGE_S = 0.05
ABRUPT_FADE_S = 0.002
SHORT_FADE_S = 0.3
LEAST_GAP_DB = 30.0


@dataclass(frozen=True)
class Ending(Fault):
    """A tail that ends too soon; the strength is how long before its floor it is silent.

    In a loop the tail is what leads into its softest tenth of a second. ``fade_ms`` is how fast it is taken away.
    """

    name: str = "abrupt_end"
    title: str = "Abrupt ending"
    unit: str = "ms"
    effect_name: str = "missing_ms"
    at_ending: bool = True
    parameters: tuple[Parameter, ...] = (
        Parameter("missing_ms", "ms", 0.0, 8000.0, 800.0),
        Parameter("fade_ms", "ms", 1.0, 4000.0, 1000 * ABRUPT_FADE_S),
    )

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Take the amount as the missing time; refuse a loop without a tail that is so long.

        Raises
        ------
        NotReachable
            If there is no tail, or it is shorter, with its length.
        """
        full = super().solve(loop, amount, settings)
        if amount > 0:
            _find_cut(_Tail(_turn(loop, _find_gap(loop))), full)
        return full

    def plant(self, loop: Clip, settings: Settings) -> Planted:
        """End the tail that leads into the loop's softest moment; a tail that is too short stays as it is."""
        gap = _find_gap(loop)
        turned = _turn(loop, gap)
        try:
            planted = _end_early(turned, settings, self.name)
        except NotReachable:
            return Planted(loop, self.name, 0.0, 0.0, "both", 0.0, "ms")
        place_s = (planted.place_s + gap / loop.rate_hz) % loop.duration_s
        back = _turn(planted.clip, -gap)
        return Planted(back, self.name, place_s, planted.length_s, "both", planted.strength, "ms")

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Read how long before the tail would have reached its floor the sound is silent."""
        require_sound(before, self.name)
        gap = _find_gap(before)
        tail = _Tail(_turn(before, gap))
        change = read_change(before, after, level_gain_db)
        became = tail.samples + np.roll(change, -gap, axis=0)
        missing_ms = tail.measure_missing_ms(became) if change.any() else 0.0
        measured = {"missing_ms": missing_ms, "place_s": find_first(change) / before.rate_hz}
        sentence = f"The tail is over {write_number(missing_ms, 0)} ms before the room is."
        return Effect(missing_ms, measured, draw_change(before, change), (sentence,))

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for a tail that leads into near silence."""
        return (need_gap(contents, LEAST_GAP_DB),)


def make_short_fade() -> Ending:
    """Make the move whose fade takes 300 ms where the other one's takes 2 ms."""
    parameters = (
        Parameter("missing_ms", "ms", 0.0, 8000.0, 800.0),
        Parameter("fade_ms", "ms", 1.0, 4000.0, 1000 * SHORT_FADE_S),
    )
    return Ending("short_fade", "Fade over too soon", parameters=parameters)


def plant_abrupt_end(clip: Clip, missing_ms: float) -> Planted:
    """Silence the end of a clip before its tail has died away.

    Parameters
    ----------
    clip : Clip
        A sound whose end dies away.
    missing_ms : float
        So long before the tail would have reached its floor there is silence, ms, 0 or more. Levels are taken over
        50 ms; the floor is 60 dB under the loudest moment, or 6 dB over the clip's last 50 ms if that is more.

    Returns
    -------
    Planted
        Strength in ms, as read; as long as before, digital silence at the end.

    Raises
    ------
    BadValue
        If the clip is silent.
    NotReachable
        If the tail is shorter, or there is none.
    """
    return _end_early(clip, {"missing_ms": missing_ms, "fade_ms": 1000 * ABRUPT_FADE_S}, "abrupt_end")


def plant_short_fade(clip: Clip, missing_ms: float, fade_ms: float = 1000 * SHORT_FADE_S) -> Planted:
    """Fade the end of a clip out before its tail has died away, and wait in silence; as `plant_abrupt_end`."""
    return _end_early(clip, {"missing_ms": missing_ms, "fade_ms": fade_ms}, "short_fade")


def _end_early(clip: Clip, settings: Settings, name: str) -> Planted:
    """Take the end away."""
    require_sound(clip, name)
    tail = _Tail(clip)
    first, silent = _find_cut(tail, settings)
    samples = tail.samples.copy()
    samples[first:silent] *= make_rise(silent - first)[::-1, None]
    samples[silent:] = 0.0
    planted = clip.with_samples(samples)
    missing_ms = tail.measure_missing_ms(planted.samples.astype(np.float64))
    return Planted(planted, name, first / clip.rate_hz, missing_ms / 1000, "both", missing_ms, "ms")


class _Tail:
    """How a clip dies away: where it begins to, the power under which it is over, and when it gets there."""

    def __init__(self, clip: Clip) -> None:
        self.samples, self.rate_hz = clip.samples.astype(np.float64), clip.rate_hz
        power = _follow_power(self.samples, clip.rate_hz)
        last = power[-max(1, min(power.size // 4, int(GAP_S / 2 * clip.rate_hz))) :]
        highest = float(power.max())
        self.floor = max(highest * 10 ** (FLOOR_DB / 10), float(last.max()) * 10 ** (OVER_GAP_DB / 10))
        self.begins = int(np.flatnonzero(power >= highest * 10 ** (-TAIL_FROM_DB / 10))[-1]) + 1
        self.end = _find_end(self.samples, clip.rate_hz, self.floor)
        self.dies_away = highest >= self.floor * 10 ** (LEAST_FALL_DB / 10)

    def measure_missing_ms(self, became: Wave) -> float:
        """Measure by how much earlier than the tail reaches its floor a sound made from it is silent, ms."""
        heard = np.flatnonzero(became.any(axis=1))
        silent = int(heard[-1]) + 1 if heard.size else 0
        return max(0.0, 1000 * (self.end - silent) / self.rate_hz)


def _find_cut(tail: _Tail, settings: Settings) -> tuple[int, int]:
    """Find the frames between which the sound has to be faded so that it is silent early by the time asked."""
    missing, fade = (round(settings[name] / 1000 * tail.rate_hz) for name in ("missing_ms", "fade_ms"))
    longest = tail.end - tail.begins - fade
    if missing > longest or not tail.dies_away:
        best = 1000 * max(longest, 0) / tail.rate_hz if tail.dies_away else 0.0
        asked = f"{settings['missing_ms']:g}"
        raise NotReachable(f"ending: missing_ms={asked}, expected at most {best:.0f}, the tail of this excerpt")
    return tail.end - missing - fade, tail.end - missing


def _follow_power(samples: npt.NDArray[np.floating], rate_hz: int) -> Wave:
    """Follow the power over 50 ms, channels summed."""
    power = np.square(samples, dtype=np.float64).sum(axis=1)
    return np.maximum(scipy.ndimage.uniform_filter1d(power, max(1, int(AVERAGE_S * rate_hz)), mode="constant"), 0.0)


def _find_end(samples: npt.NDArray[np.floating], rate_hz: int, floor: float) -> int:
    """Find the frame behind the last one over the floor."""
    over = np.flatnonzero(_follow_power(samples, rate_hz) >= floor)
    return int(over[-1]) + 1 if over.size else 0


def _find_gap(loop: Clip) -> int:
    """Find the middle of the loop's softest tenth of a second, round the loop."""
    power = np.square(loop.samples, dtype=np.float64).sum(axis=1)
    width = max(1, min(int(GAP_S * loop.rate_hz), loop.frames))
    total = np.concatenate([[0.0], np.cumsum(np.concatenate([power, power[:width]]))])
    first = int((total[width:-1] - total[: -width - 1]).argmin())
    return (first + width // 2) % loop.frames


def _turn(loop: Clip, frames: int) -> Clip:
    """Let a loop begin at another frame."""
    return loop.with_samples(np.roll(loop.samples, -frames, axis=0))
