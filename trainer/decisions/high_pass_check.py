"""Whether a gentle high-pass near 20 Hz is needed, and whether it does harm: measured on the whole song."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from trainer.audio.clip import Clip
from trainer.decisions.low_notes import find_lowest_note
from trainer.decisions.sheet import Candidate
from trainer.dsp.move import complete_settings
from trainer.dsp.moves import MOVES
from trainer.dsp.processor import TellShare, tell_nothing, tell_part
from trainer.dsp.song_chain import Step, render_song
from trainer.errors import BadValue
from trainer.measure.loudness import measure_integrated_lufs
from trainer.measure.spectrum import LongTermSpectrum, SpectrumMeter
from trainer.measure.steps import block_frames
from trainer.measure.true_peak import measure_true_peak
from trainer.units import write_frequency, write_number

Outcome = Literal["not_needed", "no_harm", "harm"]
CUTOFF_HZ, SLOPE_DB = 20.0, 12.0
# An offset is no rumble: lines up to here are left out.
OFFSET_HZ = 2.5
IMPULSE_S = 4.0
# Roughly the part of the time that rendering takes.
RENDERED = 0.4
# A hundredth of the song's amplitude takes less than 0.1 dB of headroom (arithmetic): nothing is to be won below that.
LEAST_BELOW_DB = -40.0
# A bass that loses a decibel, or peaks that rise by one, is a price; common practice, no source.
MOST_LOSS_DB, MOST_PEAK_DB = 1.0, 1.0


@dataclass(frozen=True)
class HighPassCheck:
    """Hold what a high-pass does to a song.

    Parameters
    ----------
    below_20_hz_db, below_30_hz_db : float
        Level of what lies below, against the whole song, dB; minus infinity where nothing is.
    below_cutoff_after_db : float
        Level below the cut-off behind the filter, against the whole song before it, dB.
    lowest_note_hz : float or None
        Lowest note, or drum, that is played; None where none was found below 420 Hz.
    loss_at_lowest_note_db : float or None
        By how much it is softer behind the filter, dB.
    peak_change_db : float
        Change of the song's true peak, with its sign.
    loudness_change_lu : float
        Change of the integrated loudness.
    outcome : str
        ``not_needed``, ``no_harm`` or ``harm``.
    reasons : tuple of str
        Why, in sentences.
    candidate : Candidate
        The move with what was measured, for the sheet; nothing is decided.
    """

    below_20_hz_db: float
    below_30_hz_db: float
    below_cutoff_after_db: float
    lowest_note_hz: float | None
    loss_at_lowest_note_db: float | None
    peak_change_db: float
    loudness_change_lu: float
    outcome: Outcome
    reasons: tuple[str, ...]
    candidate: Candidate


def check_high_pass(
    song: Clip,
    cutoff_hz: float = CUTOFF_HZ,
    slope_per_octave_db: float = SLOPE_DB,
    kept: Sequence[Step] = (),
    tell: TellShare = tell_nothing,
) -> HighPassCheck:
    """Run a high-pass over a whole song and measure what it takes and what it costs.

    Parameters
    ----------
    song : Clip
        The mix.
    cutoff_hz : float
        Where the filter is 3 dB down, Hz, 10 to 120.
    slope_per_octave_db : float
        12 or 24.
    kept : sequence of Step
        What goes before it; mostly nothing.
    tell : callable
        Is told how much of the work is done, 0 to 1.

    Returns
    -------
    HighPassCheck

    Raises
    ------
    BadValue
        If the song is silent, or a setting is out of bounds.
    """
    before = render_song(song, kept)
    settings = complete_settings(
        MOVES["high_pass"], {"cutoff_hz": cutoff_hz, "slope_per_octave_db": slope_per_octave_db}
    )
    after = render_song(before, (Step("high_pass", settings),), tell=tell_part(tell, 0.0, RENDERED))
    spectra = [_measure(clip) for clip in (before, after)]
    whole = spectra[0].sum_band(OFFSET_HZ, before.rate_hz / 2)
    if not whole > 0:
        raise BadValue("high_pass", "level_db", "−∞", "a song with sound in it")
    tell(RENDERED + 0.3 * (1 - RENDERED))
    peaks = [measure_true_peak(clip.samples, clip.rate_hz).dbtp for clip in (before, after)]
    tell(RENDERED + 0.7 * (1 - RENDERED))
    loudness = [measure_integrated_lufs(clip.samples, clip.rate_hz) for clip in (before, after)]
    note = find_lowest_note(spectra[0])
    loss = None if note is None else _lose_at(note, spectra[0], spectra[1])
    below = [_against(spectra[0], high, whole) for high in (20.0, 30.0)]
    peak_change, louder = peaks[1] - peaks[0], loudness[1] - loudness[0]
    under = _against(spectra[0], cutoff_hz, whole)
    outcome, reasons = _judge(cutoff_hz, under, note, loss, peak_change)
    results = {
        "level_below_cutoff_before_db": under,
        "level_below_cutoff_after_db": _against(spectra[1], cutoff_hz, whole),
        "lowest_note_hz": math.nan if note is None else note,
        "loss_at_lowest_note_db": math.nan if loss is None else loss,
        "true_peak_change_db": peak_change,
        "loudness_change_lu": louder,
    }
    if outcome != "not_needed":
        results["cutoff_hz"] = _read_cutoff(settings, before.rate_hz)
    candidate = Candidate(
        f"high_pass_{cutoff_hz:.0f}", "balance", "hygiene", "high_pass", cutoff_hz, "Hz", settings,
        {name: value for name, value in results.items() if math.isfinite(value)}, " ".join(reasons),
        verdict="harm" if outcome == "harm" else "untried" if outcome == "not_needed" else "no_harm",
    )  # fmt: skip
    return HighPassCheck(
        below[0], below[1], results["level_below_cutoff_after_db"], note, loss, peak_change, louder, outcome, reasons,
        candidate,
    )  # fmt: skip


def _judge(
    cutoff_hz: float, under_db: float, note_hz: float | None, loss_db: float | None, peak_change_db: float
) -> tuple[Outcome, tuple[str, ...]]:
    """Judge, and say why: first what is there, then the bass, then the peaks."""
    cutoff, peak = write_frequency(cutoff_hz), write_number(peak_change_db, 1, True)
    if under_db < LEAST_BELOW_DB:
        level = "nothing" if not math.isfinite(under_db) else f"{write_number(under_db, 0)} dB against the whole"
        return "not_needed", (f"Below {cutoff} there is {level}: no headroom is to be won. Leave it out.",)
    reasons = [f"Below {cutoff} lies {write_number(under_db, 0)} dB against the whole."]
    harm = False
    if note_hz is not None and loss_db is not None:
        lost = write_number(max(loss_db, 0.0))
        reasons.append(f"The lowest note or drum, about {write_frequency(note_hz)}, loses {lost} dB.")
        harm = loss_db > MOST_LOSS_DB
    if peak_change_db > MOST_PEAK_DB:
        reasons.append(f"The highest peak changes by {peak} dB: the limiter has to take that again.")
        harm = True
    else:
        reasons.append(f"The highest peak changes by {peak} dB.")
    return ("harm" if harm else "no_harm"), tuple(reasons)


def _read_cutoff(settings: dict[str, float], rate_hz: int) -> float:
    """Send an impulse through the filter and read where it is 3 dB down, Hz."""
    impulse = np.zeros((round(IMPULSE_S * rate_hz), 2), dtype=np.float32)
    impulse[0] = 1.0
    answer = render_song(Clip(impulse, rate_hz), (Step("high_pass", settings),)).samples[:, 0]
    gains = np.abs(np.fft.rfft(answer.astype(np.float64)))
    above = int(np.flatnonzero(gains >= math.sqrt(0.5))[0])
    part = (math.sqrt(0.5) - gains[above - 1]) / (gains[above] - gains[above - 1])
    return float((above - 1 + part) * rate_hz / impulse.shape[0])


def _measure(clip: Clip) -> LongTermSpectrum:
    """Measure a whole song's spectrum."""
    meter = SpectrumMeter(clip.rate_hz, 2)
    length = block_frames(clip.rate_hz)
    for first in range(0, clip.frames, length):
        meter.add(clip.samples[first : first + length].T)
    return meter.finish()


def _against(spectrum: LongTermSpectrum, high_hz: float, whole: float) -> float:
    """Give the level of what lies below a frequency, dB."""
    power = spectrum.sum_band(OFFSET_HZ, high_hz)
    return 10 * math.log10(power / whole) if power > 0 else -math.inf


def _lose_at(note_hz: float, before: LongTermSpectrum, after: LongTermSpectrum) -> float:
    """Measure by how much a note is softer, dB, on the lines about it."""
    width = 1.5 * before.width_hz
    was, became = (spectrum.sum_band(note_hz - width, note_hz + width) for spectrum in (before, after))
    return 10 * math.log10(was / became) if was > 0 and became > 0 else 0.0
