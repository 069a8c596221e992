"""Lossy coding there and back: what a service's or a friend's copy does to a song."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from trainer.audio.clip import Clip
from trainer.audio.loops import cut_loop, extend_loop
from trainer.dsp.move import Effect, Need, Parameter, Picture, PlainMove, Settings, complete_settings
from trainer.errors import BadValue, EvenhandError, NotReachable
from trainer.measure.contents import Band, StretchContents
from trainer.measure.loudness import measure_loop_lufs
from trainer.measure.response import measure_third_octaves
from trainer.measure.true_peak import measure_loop_true_peak
from trainer.measure.weighting import weight_k
from trainer.units import db_to_gain, write_frequency, write_number

# Codes a clip at a rate, kb/s, and gives it back in step to the sample, as long as before.
Coder = Callable[[Clip, str, float], Clip]

# Encoders look ahead and remember: so much of the loop goes before and behind it.
RUN_UP_S, RUN_OUT_S = 0.5, 0.25
TRIES = 8
CLOSEST = 0.03
# Where the search begins: all three codecs changed about so much of a dense song at so many kb/s.
TYPICAL_KBPS, TYPICAL_PERCENT, SLOPE = 128.0, 13.0, 0.9
# Two tries further apart than this in the result, one step apart in the rate, are a jump of the encoder.
NARROWEST = 1.005
LOST_DB = 10.0
LEAST_TOP_HZ = 8000.0
LEAST_TOP_DB = -40.0
LEAST_HITS_PER_S = 0.7
LOWEST_DB = -120.0


def refuse_coding(clip: Clip, codec: str, rate_kbps: float) -> Clip:
    """Stand in where no coder is at hand.

    Raises
    ------
    EvenhandError
        Always.
    """
    raise EvenhandError(f"{codec}: coder=none, expected one that can code sound; this part of the program has none")


@dataclass(frozen=True)
class Coding(PlainMove):
    """Code a loop and decode it again.

    The amount is what coding changed, in per cent of the song: the K-weighted level of the difference after the best
    common gain. It grows as the rate falls, can be read from the sound, and stays the same when the song is turned
    up or down. A rate means little by itself: what it costs depends on the song.
    """

    name: str
    title: str
    parameters: tuple[Parameter, ...]
    coder: Coder = refuse_coding
    unit: str = "percent"
    effect_name: str = "changed_percent"

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Find the rate at which coding changes as much as asked, within 3 %, by trial: two to eight codings.

        Raises
        ------
        NotReachable
            If the lowest rate changes less, or the highest more, with what the nearest rate gives.
        """
        full = complete_settings(self, settings)
        if not (math.isfinite(amount) and amount > 0):
            raise BadValue(self.name, "amount", f"{amount:g}", "more than 0 percent of the song")
        _require_sound(loop, self.name)
        rate = self.parameters[0]
        ends = [(rate.low, math.inf), (rate.high, 0.0)]
        tried = min(max(TYPICAL_KBPS * (TYPICAL_PERCENT / amount) ** SLOPE, rate.low), rate.high)
        best = (math.inf, tried, 0.0)
        for _ in range(TRIES):
            made = 100 * _measure_change(loop, self.render(loop, {**full, "rate_kbps": tried}))
            best = min(best, (abs(math.log(max(made, 1e-9) / amount)), tried, made))
            if best[0] <= CLOSEST or (tried == rate.low and made < amount) or (tried == rate.high and made > amount):
                break
            ends[0 if made > amount else 1] = (tried, made)
            if ends[1][0] / ends[0][0] < NARROWEST:
                break
            tried = _choose_next(ends, amount, made, tried, rate)
        if best[0] > CLOSEST:
            found = f"{best[2]:.2g} percent at {best[1]:.0f} kb/s"
            raise NotReachable(f"{self.name}: amount={amount:g}, expected about {found}, the nearest on this excerpt")
        return {**full, "rate_kbps": best[1]}

    def render(self, loop: Clip, settings: Settings) -> Clip:
        """Code the loop as a part of its own repetition; silence stays silent."""
        full = complete_settings(self, settings)
        if not loop.samples.any():
            return loop
        before, after = int(RUN_UP_S * loop.rate_hz), int(RUN_OUT_S * loop.rate_hz)
        extended = loop.with_samples(extend_loop(loop.samples, before, after))
        coded = self.coder(extended, self.name, full["rate_kbps"])
        if coded.samples.shape != extended.samples.shape or coded.rate_hz != loop.rate_hz:
            raise EvenhandError(f"{self.name}: frames={coded.frames}, expected {extended.frames} at {loop.rate_hz} Hz")
        # The end of the round was coded in another place than what goes before its start: the seam is made anew.
        return cut_loop(coded, before, loop.frames)

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Read what changed, the bandwidth that is left, and what became of peak and loudness."""
        _require_sound(before, self.name)
        decoded = after.with_samples(after.samples.astype(np.float64) / db_to_gain(level_gain_db))
        changed = 100 * _measure_change(before, decoded)
        bands = measure_third_octaves(before.samples, decoded.samples, before.rate_hz)
        measured = {
            "changed_percent": changed,
            "changed_over_song_db": max(20 * math.log10(changed / 100), LOWEST_DB) if changed > 0 else LOWEST_DB,
            "true_peak_change_db": _subtract(_read_peak(decoded), _read_peak(before)),
            "loudness_change_lu": _subtract(_read_loudness(decoded), _read_loudness(before)),
        }
        top = find_bandwidth_hz(bands)
        if top is not None:
            measured["bandwidth_hz"] = top
        return Effect(changed, measured, Picture("response", bands), _describe(measured, top is not None))

    def bands_hz(self, settings: Settings) -> tuple[Band, ...]:
        """Ask for the level of the top."""
        return ((LEAST_TOP_HZ, math.inf),)

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for what is hard to code: sharp attacks and a real top."""
        top = contents.band_db[(LEAST_TOP_HZ, math.inf)]
        return (
            Need("level_above_8_khz_db", top, LEAST_TOP_DB, f"{write_number(LEAST_TOP_DB, 0)} or more: cymbals, an s"),
            Need("hits_per_s", contents.hits_per_s, LEAST_HITS_PER_S, f"{LEAST_HITS_PER_S:g} hits a second or more"),
        )


def make_coding_moves(coder: Coder = refuse_coding) -> tuple[Coding, ...]:
    """Make the three moves with a coder; without one they can be listed, and refuse to render."""

    def describe(low: float, high: float) -> tuple[Parameter, ...]:
        return (Parameter("rate_kbps", "kbps", low, high, 128.0),)

    return (
        Coding("mp3", "MP3", describe(40.0, 320.0), coder),
        Coding("vorbis", "Vorbis", describe(64.0, 500.0), coder),
        Coding("opus", "Opus", describe(16.0, 450.0), coder),
    )


def find_bandwidth_hz(bands: tuple[tuple[float, float], ...]) -> float | None:
    """Find the highest third octave, by its centre, that lost less than 10 dB; None if no band lost so much."""
    kept = [centre for centre, gain_db in bands if gain_db > -LOST_DB]
    return max(kept) if kept and bands and max(kept) < max(centre for centre, _ in bands) else None


def _choose_next(ends: list[tuple[float, float]], amount: float, made: float, tried: float, rate: Parameter) -> float:
    """Choose the next rate: on the line through both ends, in logarithms, or by the usual slope as long as one is."""
    (low, more), (high, less) = ends
    if math.isfinite(more) and less > 0:
        share = math.log(more / amount) / math.log(more / less)
        return float(low * (high / low) ** min(max(share, 0.1), 0.9))
    # What changes falls about as the rate rises.
    guess = float(tried * (made / amount) ** SLOPE)
    return min(max(guess, rate.low), rate.high)


def _require_sound(loop: Clip, name: str) -> None:
    if not loop.samples.any():
        raise BadValue(name, "sound", "silence", "a sound to code")


def _measure_change(before: Clip, after: Clip) -> float:
    """Measure the level of the difference after the best common gain, as a share of the song, K-weighted."""
    run_up = before.rate_hz
    x = weight_k(extend_loop(before.samples, run_up, 0), before.rate_hz)[run_up:]
    y = weight_k(extend_loop(after.samples, run_up, 0), before.rate_hz)[run_up:]
    power, both = float((x * x).sum()), float((x * y).sum())
    if power <= 0 or both <= 0:
        return 1.0
    gain = both / power
    return math.sqrt(float(((y - gain * x) ** 2).sum()) / power) / gain


def _read_peak(loop: Clip) -> float:
    return measure_loop_true_peak(loop.samples, loop.rate_hz).dbtp


def _read_loudness(loop: Clip) -> float:
    return measure_loop_lufs(loop.samples, loop.rate_hz)


def _subtract(became: float, was: float) -> float:
    """Subtract levels, either of which may be minus infinity."""
    return became - was if math.isfinite(became) and math.isfinite(was) else 0.0


def _describe(measured: dict[str, float], narrowed: bool) -> tuple[str, ...]:
    """Say what the sound shows."""
    changed = (
        f"What coding changed is {write_number(-measured['changed_over_song_db'], 0)} dB below the song; peaks came "
        f"back {write_number(measured['true_peak_change_db'], 1, signed=True)} dB."
    )
    if not narrowed:
        return (changed,)
    return (changed, f"The top ends at about {write_frequency(measured['bandwidth_hz'])}, which gives it away.")
