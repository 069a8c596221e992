"""Harsh sibilance: more of 5 to 9 kHz, but only while an s sounds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy

from trainer.audio.clip import Clip
from trainer.audio.loops import extend_loop
from trainer.dsp.faults.fault import Fault, draw_change, find_first, find_last, read_change
from trainer.dsp.faults.planted import Planted, Wave, require_sound
from trainer.dsp.move import Effect, Need, Parameter, Settings
from trainer.errors import BadValue
from trainer.measure.contents import StretchContents
from trainer.measure.hits import FRAME_S, SIBILANT_BAND_HZ, find_sibilants
from trainer.units import write_number

TAPS = 511
# An s lasts about so long on either side of its loudest moment; the boost comes and goes over these times.
BEFORE_S, AFTER_S, RAMP_S = 0.06, 0.08, 0.03
RUN_UP_S = 1.0
LEAST_SIBILANTS_PER_S = 0.3


@dataclass(frozen=True)
class Sibilance(Fault):
    """Every s made sharper; the strength is the boost of 5 to 9 kHz at the loudest moment of each."""

    name: str = "sibilance"
    title: str = "Harsh sibilance"
    unit: str = "dB"
    effect_name: str = "sibilance_db"
    parameters: tuple[Parameter, ...] = (Parameter("sibilance_db", "dB", 0.0, 24.0, 6.0),)

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Take the amount as the boost; refuse a loop without an s."""
        full = super().solve(loop, amount, settings)
        _require_sibilants(loop)
        return full

    def plant(self, loop: Clip, settings: Settings) -> Planted:
        """Sharpen every s, round the loop."""
        return sharpen_sibilants(loop, settings["sibilance_db"])

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Compare 5 to 9 kHz during each s with and without."""
        require_sound(before, self.name)
        change = read_change(before, after, level_gain_db)
        boost_db, count = _read(before, change)
        measured = {"sibilance_db": boost_db, "sibilants_per_s": count / before.duration_s}
        sentence = f"{count} s sounds, sharper by {write_number(boost_db)} dB between 5 and 9 kHz."
        return Effect(boost_db, measured, draw_change(before, change), (sentence,))

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for s sounds."""
        expected = f"{LEAST_SIBILANTS_PER_S:g} s sounds a second or more"
        return (Need("sibilants_per_s", contents.sibilants_per_s, LEAST_SIBILANTS_PER_S, expected),)


def sharpen_sibilants(clip: Clip, boost_db: float) -> Planted:
    """Boost 5 to 9 kHz during the s sounds of a clip, which is treated as a loop.

    Parameters
    ----------
    clip : Clip
        The sound.
    boost_db : float
        Rise of the band's power within 10 ms of the loudest moment of each s, dB, 0 or more.

    Returns
    -------
    Planted
        Strength in dB; the place is from the first s to the last. A clip without an s is left as it is.

    Raises
    ------
    BadValue
        If the clip is silent.
    """
    require_sound(clip, "sibilance")
    added = _open_gate(clip)[:, None] * _pass_sibilant_band(clip)
    share = _find_share(clip, added, boost_db)
    planted = clip.with_samples(clip.samples + share * added) if share else clip
    change = planted.samples.astype(np.float64) - clip.samples
    read_db, _ = _read(clip, change)
    first, last = find_first(change), find_last(change)
    length_s = (last - first) / clip.rate_hz
    return Planted(planted, "sibilance", first / clip.rate_hz, length_s, "both", read_db, "dB")


def _require_sibilants(loop: Clip) -> None:
    if not _find(loop).size:
        raise BadValue("sibilance", "sibilants_per_s", 0, "a loop in which an s sounds")


def _find(loop: Clip) -> np.ndarray:
    """Find the loudest frames of the s sounds, round the loop."""
    run_up = int(RUN_UP_S / FRAME_S) * int(round(FRAME_S * loop.rate_hz))
    steps = np.flatnonzero(find_sibilants(extend_loop(loop.samples, run_up, run_up), loop.rate_hz))
    frames = (steps * int(round(FRAME_S * loop.rate_hz))) + int(FRAME_S * loop.rate_hz) // 2 - run_up
    return np.unique(frames[(frames >= 0) & (frames < loop.frames)])


def _open_gate(loop: Clip) -> Wave:
    """Make a gain of 0 to 1, shape (frames,), that is 1 around the s sounds and comes and goes smoothly."""
    gate = np.zeros(loop.frames)
    before, after, ramp = (int(length * loop.rate_hz) for length in (BEFORE_S, AFTER_S, RAMP_S))
    for frame in _find(loop).tolist():
        gate[np.arange(frame - before, frame + after) % loop.frames] = 1.0
    widened = scipy.ndimage.maximum_filter1d(gate, 2 * (ramp // 2) + 1, mode="wrap")
    window = np.hanning(ramp + 2)[1:-1]
    smooth = scipy.signal.oaconvolve(extend_loop(widened, ramp, ramp), window / window.sum(), mode="same")
    smooth = smooth[ramp : ramp + loop.frames]
    return np.asarray(np.where(smooth < 1e-9, 0.0, np.minimum(smooth, 1.0)))


def _pass_sibilant_band(loop: Clip) -> Wave:
    """Keep 5 to 9 kHz without delay, round the loop, shape (frames, 2)."""
    high = min(SIBILANT_BAND_HZ[1], 0.45 * loop.rate_hz)
    kernel = scipy.signal.firwin(
        TAPS, (SIBILANT_BAND_HZ[0], high), pass_zero=False, fs=loop.rate_hz, window=("kaiser", 6.0)
    )
    extended = extend_loop(loop.samples, TAPS, TAPS).astype(np.float64)
    filtered = scipy.signal.oaconvolve(extended, kernel[:, None], mode="same", axes=0)
    return np.asarray(filtered[TAPS : TAPS + loop.frames])


def _find_share(clip: Clip, added: Wave, boost_db: float) -> float:
    """Find how much of the gated band to add so that the band's power during the s sounds rises as asked."""
    frames = _find(clip)
    if not frames.size:
        return 0.0
    places = _list_places(clip, frames)
    was = _pass_sibilant_band(clip)[places]
    more = _pass_sibilant_band(clip.with_samples(added))[places]
    own, both, other = float((was**2).sum()), float((was * more).sum()), float((more**2).sum())
    if other <= 0:
        return 0.0
    return (-both + float(np.sqrt(both**2 + other * own * (10 ** (boost_db / 10) - 1)))) / other


def _list_places(clip: Clip, frames: np.ndarray) -> np.ndarray:
    """List the frames within 10 ms of others, round the loop."""
    half = int(FRAME_S * clip.rate_hz)
    return np.asarray((frames[:, None] + np.arange(-half, half)) % clip.frames)


def _read(before: Clip, change: Wave) -> tuple[float, int]:
    """Read the boost of the band within 10 ms of each s, and how many there are."""
    frames = _find(before)
    if not frames.size:
        return 0.0, 0
    was = _pass_sibilant_band(before)
    became = was + _pass_sibilant_band(before.with_samples(change))
    places = _list_places(before, frames)
    ratio = float((became[places] ** 2).sum()) / max(float((was[places] ** 2).sum()), 1e-30)
    return (10 * float(np.log10(ratio)) if ratio > 0 else 0.0), int(frames.size)
