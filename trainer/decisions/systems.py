"""A loop as small playback systems let it through: band limits to listen by, no copies of any device."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy

from trainer.audio.clip import Clip
from trainer.dsp.matching import MatchedLoop, match_loops
from trainer.dsp.processor import SectionFilter, run_round
from trainer.dsp.stereo.sides import fold_to_mono
from trainer.errors import BadValue
from trainer.measure.loudness import measure_loop_level_db
from trainer.measure.standards import ABSOLUTE_GATE_LUFS
from trainer.units import write_frequency

ORDER = 4
RUN_UP_S = 1.0
HIGHEST_SHARE = 0.45


@dataclass(frozen=True)
class System:
    """Describe a band limit.

    Parameters
    ----------
    system, title : str
        Its name, and its title for a person.
    low_hz, high_hz : float
        3 dB down there, 24 dB an octave beyond; 0 and infinity leave a side open.
    mono : bool
        Whether both channels play their mean.
    """

    system: str
    title: str
    low_hz: float
    high_hz: float
    mono: bool

    @property
    def about(self) -> str:
        """Say what it does and that it is only an aid; for a person."""
        fold = "Both channels play the middle"
        if self.low_hz <= 0:
            return f"{fold}: what is only at the sides goes."
        limit = f"from {write_frequency(self.low_hz)} to {write_frequency(self.high_hz)}, 24 dB an octave beyond"
        first = f"{fold}, {limit}" if self.mono else f"Only what lies {limit}"
        return f"{first}. A band limit as an aid (common practice, no source); no copy of a device."


# Common practice, no source: where such systems begin and end, about.
SYSTEMS: dict[str, System] = {
    each.system: each
    for each in (
        System("mono", "Mono", 0.0, np.inf, True),
        System("small_speaker", "One small speaker", 150.0, 10000.0, True),
        System("laptop", "Laptop", 250.0, 14000.0, False),
    )
}


def limit_to_system(loop: Clip, name: str) -> Clip:
    """Make a loop as a system lets it through, in steady state; same length.

    Parameters
    ----------
    loop : Clip
        One round.
    name : str
        One of `SYSTEMS`.

    Raises
    ------
    BadValue
        If there is no such system.
    """
    system = _find(name)
    return limit_to_range(fold_to_mono(loop) if system.mono else loop, system.low_hz, system.high_hz)


def limit_to_range(loop: Clip, low_hz: float, high_hz: float) -> Clip:
    """Let through what lies in a range, in steady state; same length, and the loop itself where nothing is limited.

    Parameters
    ----------
    loop : Clip
        One round.
    low_hz, high_hz : float
        3 dB down there, 24 dB an octave beyond; 0 and infinity leave a side open.
    """
    sections = design_limits(low_hz, high_hz, loop.rate_hz)
    if sections is None:
        return loop
    return run_round(lambda: SectionFilter(sections), loop, round(RUN_UP_S * loop.rate_hz))


def play_on_systems(loop: Clip, names: tuple[str, ...] = tuple(SYSTEMS)) -> tuple[MatchedLoop, ...]:
    """Make a loop as it is, and then on each system, all equally loud.

    Parameters
    ----------
    loop : Clip
        One round.
    names : tuple of str
        Which systems.

    Returns
    -------
    tuple of MatchedLoop
        The loop itself first.

    Raises
    ------
    BadValue
        If nothing of the loop is left on one of them; the line names it.
    """
    made = [limit_to_system(loop, name) for name in names]
    for name, limited in zip(names, made, strict=True):
        if measure_loop_level_db(limited.samples, limited.rate_hz) <= ABSOLUTE_GATE_LUFS:
            raise BadValue(_find(name).title.lower(), "loudness_lufs", "−∞", "a loop of which something is left there")
    return match_loops((loop, *made))


def design_limits(low_hz: float, high_hz: float, rate_hz: int) -> npt.NDArray[np.float64] | None:
    """Design a range's filters, Butterworth of the fourth order, as sections; None where nothing is limited."""
    parts = []
    if low_hz > 0:
        parts.append(scipy.signal.butter(ORDER, low_hz, "highpass", fs=rate_hz, output="sos"))
    if high_hz < HIGHEST_SHARE * rate_hz:
        parts.append(scipy.signal.butter(ORDER, high_hz, "lowpass", fs=rate_hz, output="sos"))
    return np.concatenate(parts) if parts else None


def _find(name: str) -> System:
    if name not in SYSTEMS:
        raise BadValue("system", "name", name, f"one of {', '.join(SYSTEMS)}")
    return SYSTEMS[name]
