"""The figures of a file as plain facts, with a note for each that could not be read."""

from __future__ import annotations

import math
from typing import Any

from trainer.audio.file_form import FileForm
from trainer.measure import standards
from trainer.measure.programme import Programme
from trainer.units import write_frequency, write_number

ONE_CHANNEL = "one channel, so there is nothing to compare"


def list_facts(form: FileForm, programme: Programme) -> dict[str, Any]:
    """List what was measured of a file.

    Parameters
    ----------
    form : FileForm
        What its head says.
    programme : Programme
        What was measured.

    Returns
    -------
    dict
        Keys with units; None where nothing can be said, with a line in ``notes``.
    """
    loudness, peaks, stereo, dynamics = programme.loudness, programme.peaks, programme.stereo, programme.dynamics
    return {
        "file": form.file,
        "format": form.format,
        "encoding": form.encoding,
        "sample_rate_hz": form.sample_rate_hz,
        "channels": form.channels,
        "bit_depth": form.bit_depth,
        "duration_s": _round(programme.duration_s, 4),
        "integrated_lufs": _round(loudness.integrated_lufs),
        "loudness_range_lu": _round(loudness.loudness_range_lu),
        "max_momentary_lufs": _round(loudness.max_momentary_lufs),
        "max_short_term_lufs": _round(loudness.max_short_term_lufs),
        "true_peak_dbtp": _round(peaks.true_peak_dbtp),
        "sample_peak_dbfs": _round(peaks.sample_peak_dbfs),
        "peak_to_loudness_db": _round(dynamics.peak_to_loudness_db),
        "short_term_dynamics_db": _round(dynamics.short_term_dynamics_db),
        "densest_db": _round(dynamics.densest_db),
        "transient_crest_db": _round(dynamics.transient_crest_db),
        "ceiling_share": _round(dynamics.ceiling_share, 4),
        "dc_offset": [_round(offset, 7) for offset in peaks.offset],
        "correlation": _round(stereo.correlation, 4),
        "bass_correlation": _round(stereo.bass_correlation, 4),
        "balance_db": _round(stereo.balance_db),
        "mono_change_lu": _round(stereo.mono_change_lu),
        "bandwidth_hz": None if programme.bandwidth is None else _round(programme.bandwidth.highest_hz, 0),
        "bandwidth_cliff_db": None if programme.bandwidth is None else _round(programme.bandwidth.cliff_db, 1),
        "true_bits": _true_bits(form, programme),
        "third_octaves": [
            {"centre_hz": round(centre, 3), "level_db": _round(level, 2)}
            for centre, level in programme.spectrum.third_octaves
        ],
        "notes": [*form.notes, *_list_notes(form, programme)],
    }


def word_facts(facts: dict[str, Any]) -> list[str]:
    """Word the facts for a person, a few lines to a file."""
    depth = "" if facts["bit_depth"] is None else f", {facts['bit_depth']} bit"
    rate = write_number(facts["sample_rate_hz"] / 1000, 1)
    sides = "mono" if facts["channels"] == 1 else "stereo"
    lines = [
        facts["file"],
        f"  form            {facts['format']} ({facts['encoding']}), {rate} kHz{depth}, {sides}, "
        f"{write_number(facts['duration_s'], 1)} s; bits in use {_say(facts['true_bits'], '', 0)}",
        f"  loudness        {_say(facts['integrated_lufs'], 'LUFS')} integrated, range "
        f"{_say(facts['loudness_range_lu'], 'LU')}, highest {_say(facts['max_momentary_lufs'], 'LUFS')} momentary and "
        f"{_say(facts['max_short_term_lufs'], 'LUFS')} short-term",
        f"  peaks           {_say(facts['true_peak_dbtp'], 'dBTP')} true peak, "
        f"{_say(facts['sample_peak_dbfs'], 'dBFS')} samples",
        f"  peaks over loudness {_say(facts['peak_to_loudness_db'], 'dB')} in all, "
        f"{_say(facts['short_term_dynamics_db'], 'dB')} over 3 s, hits {_say(facts['transient_crest_db'], 'dB')}",
        f"  sides           correlation {_say(facts['correlation'], '', 2)} (below 150 Hz "
        f"{_say(facts['bass_correlation'], '', 2)}), left over right {_say(facts['balance_db'], 'dB')}, "
        f"folded to mono {_say(facts['mono_change_lu'], 'LU', 1, True)}",
        f"  reaches up to   {'–' if facts['bandwidth_hz'] is None else write_frequency(facts['bandwidth_hz'])}",
    ]
    return lines + [f"  note            {note}" for note in facts["notes"]]


def _list_notes(form: FileForm, programme: Programme) -> list[str]:
    """Say why a figure is missing, or what to think of it."""
    notes, silent = [], not math.isfinite(programme.peaks.sample_peak_dbfs)
    if silent:
        notes.append("silence: every sample is 0, so there is no level, peak or spectrum")
    elif programme.duration_s < standards.BLOCK_S:
        notes.append(f"loudness: {programme.duration_s:.2f} s is shorter than a block of 0.4 s (ITU-R BS.1770)")
    elif not math.isfinite(programme.loudness.integrated_lufs):
        notes.append("integrated_lufs: nothing is louder than the gate at −70 LUFS (ITU-R BS.1770)")
    notes += _note_short_files(programme, silent)
    if form.channels == 1:
        notes.append(f"correlation, bass_correlation, balance_db, mono_change_lu: {ONE_CHANNEL}")
    elif programme.stereo.silent_side:
        notes.append(f"correlation, bass_correlation, balance_db: the {programme.stereo.silent_side} side is silent")
    if programme.frames < form.frames:
        notes.append(f"file: ends after {programme.duration_s:.2f} s of the {form.duration_s:.2f} s that its head says")
    if not silent and _true_bits(form, programme) is None:
        notes.append("true_bits: samples lie between the steps of 24 bits, as floating point and coded files do")
    return notes


def _note_short_files(programme: Programme, silent: bool) -> list[str]:
    """Say what a file is too short for."""
    if programme.duration_s < standards.SHORT_TERM_S:
        return ["max_short_term_lufs, loudness_range_lu: need 3 s (EBU Tech 3341, 3342)"]
    if programme.duration_s < standards.RANGE_STABLE_S and not silent:
        return ["loudness_range_lu: settles after a minute; this file is shorter (EBU Tech 3342)"]
    return []


def _true_bits(form: FileForm, programme: Programme) -> int | None:
    """Word length in use; a coded file has none."""
    return programme.true_bits if form.bit_depth is not None else None


def _round(value: float | None, digits: int = 3) -> float | None:
    """Round for output; None for what is no finite number."""
    return None if value is None or not math.isfinite(value) else round(float(value), digits) + 0.0


def _say(value: float | None, unit: str, digits: int = 1, signed: bool = False) -> str:
    """Write a value with its unit, a dash where there is none."""
    return "–" if value is None else f"{write_number(value, digits, signed)} {unit}".rstrip()
