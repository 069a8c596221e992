"""A bounce in words: what was made, and how near it comes to the sheet."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from trainer.audio.file_form import FileForm
from trainer.decisions.bounce import CLOSE_LU, BouncePlan, find_ceiling
from trainer.decisions.sheet import Rung, Sheet
from trainer.decisions.sheet_words import name_figure
from trainer.measure.programme import Programme
from trainer.measure.standards import LOUDNESS_TOLERANCE_LU
from trainer.units import begin_large, write_number

WITHIN_DB = 0.2
SAME_LENGTH_S = 0.05
# Costs of a rung that a file shows by itself.
SHOWN_COSTS = ("peak_to_loudness_db", "short_term_dynamics_db")


@dataclass(frozen=True)
class BounceFigures:
    """Hold what came of a bounce.

    Parameters
    ----------
    loudness_lufs, true_peak_dbtp : float
        Read from the file.
    drive_db : float or None
        Gain into the limiter, dB; None where there was none.
    gain_db : float
        What it was turned down by behind the limiter, dB.
    version_of : str
        Empty for the mix itself; else the name of the mix whose settings were used on another version.
    costs : mapping of str to float
        Those of `SHOWN_COSTS`, read from the file.
    """

    loudness_lufs: float
    true_peak_dbtp: float
    drive_db: float | None
    gain_db: float
    version_of: str = ""
    costs: Mapping[str, float] = field(default_factory=dict)


def word_bounce(plan: BouncePlan, figures: BounceFigures) -> list[str]:
    """Compare a file with its sheet, in sentences with the measured values."""
    peak = _word_peak(figures.true_peak_dbtp, plan.ceiling_dbtp)
    costs = [] if figures.version_of else _word_costs(plan.rung, figures.costs)
    return [*_word_loudness(plan, figures), peak, *costs, *_word_making(plan, figures)]


def read_costs(programme: Programme) -> dict[str, float]:
    """Read those costs of a rung that a file shows by itself."""
    found = {name: getattr(programme.dynamics, name) for name in SHOWN_COSTS}
    return {name: float(value) for name, value in found.items() if value is not None and math.isfinite(value)}


def word_file(sheet: Sheet, form: FileForm, figures: BounceFigures) -> list[str]:
    """Compare a file that was made elsewhere with the sheet, in sentences with the measured values."""
    rung = sheet.loudness.rung
    reached = f"Loudness {write_number(figures.loudness_lufs)} LUFS"
    return [
        f"{reached}; no loudness is chosen on the sheet."
        if rung is None
        else f"{reached}, {_word_away(figures.loudness_lufs, rung.reached_lufs)}.",
        _word_peak(figures.true_peak_dbtp, find_ceiling(sheet.loudness)),
        *_word_costs(rung, figures.costs),
        _word_length(sheet, form.duration_s),
        _word_form(sheet, form),
    ]


def _word_away(loudness_lufs: float, aimed_lufs: float, why: str = "") -> str:
    """Say how far a loudness is from the sheet's, and why where it is not far."""
    away = loudness_lufs - aimed_lufs
    aimed = f"the sheet's {write_number(aimed_lufs)} LUFS"
    if abs(away) <= WITHIN_DB:
        return f"within {WITHIN_DB:g} dB of {aimed} ({write_number(away, 2, True)} LU{why})"
    return f"{write_number(abs(away))} LU {'over' if away > 0 else 'under'} {aimed}"


def _word_costs(rung: Rung | None, measured: Mapping[str, float]) -> list[str]:
    """Compare what a file shows of the chosen rung's costs."""
    lines = []
    for name, value in measured.items():
        if rung is None or name not in rung.costs:
            continue
        words, unit = name_figure(name)
        away, aimed = value - rung.costs[name], f"the sheet's {write_number(rung.costs[name])} {unit}"
        near = f"within {WITHIN_DB:g} dB of {aimed} ({write_number(away, 2, True)} {unit})"
        far = f"{write_number(abs(away))} {unit} {'over' if away > 0 else 'under'} {aimed}"
        said = near if abs(away) <= WITHIN_DB else far
        lines.append(f"{begin_large(words)} {write_number(value)} {unit}, {said}.")
    return lines


def _word_length(sheet: Sheet, duration_s: float) -> str:
    """Say how long a file is against what is kept of the mix."""
    fades = sheet.fades
    kept_s = (sheet.mix.duration_s if fades.end_s is None else fades.end_s) - fades.start_s
    away = duration_s - kept_s
    length = f"Length {write_number(duration_s, 2)} s"
    if abs(away) <= SAME_LENGTH_S:
        return f"{length}, as on the sheet."
    return f"{length}, {write_number(abs(away), 2)} s {'longer' if away > 0 else 'shorter'} than on the sheet."


def _word_form(sheet: Sheet, form: FileForm) -> str:
    """Say in which form a file is, and what the sheet says where that differs."""
    wished_hz, depth = sheet.delivery.rate_hz or sheet.mix.sample_rate_hz, sheet.delivery.bit_depth
    bits = "coded" if form.bit_depth is None else f"{form.bit_depth} bit"
    found = f"Form {form.format}, {form.sample_rate_hz} Hz, {bits}"
    same = (form.sample_rate_hz, form.bit_depth) == (wished_hz, depth)
    return f"{found}, as on the sheet." if same else f"{found}; the sheet says {wished_hz} Hz, {depth} bit."


def _word_loudness(plan: BouncePlan, figures: BounceFigures) -> list[str]:
    """Say how loud the file is against the chosen rung."""
    reached = f"Loudness {write_number(figures.loudness_lufs)} LUFS"
    if plan.aimed_lufs is None:
        return [f"{reached}; no loudness is chosen on the sheet, so there is no limiter."]
    if figures.version_of:
        return [f"{reached}; {figures.version_of} comes to {write_number(plan.aimed_lufs)} LUFS so."]
    away = abs(figures.loudness_lufs - plan.aimed_lufs)
    why = "" if away <= LOUDNESS_TOLERANCE_LU else _explain(plan, figures)
    said = _word_away(figures.loudness_lufs, plan.aimed_lufs, f"; {why}" if why else "")
    return [f"{reached}, {said}." if away <= WITHIN_DB else f"{reached}, {said}: {why}."]


def _explain(plan: BouncePlan, figures: BounceFigures) -> str:
    """Say why a loudness was not met."""
    assert plan.aimed_lufs is not None
    if -figures.gain_db >= abs(figures.loudness_lufs - plan.aimed_lufs) / 2:
        return f"it was turned down by {write_number(-figures.gain_db)} dB to keep the ceiling"
    return "it cannot be had with these moves and this limiter; choose a rung again"


def _word_peak(true_peak_dbtp: float, ceiling_dbtp: float) -> str:
    """Say where the true peak is against the ceiling."""
    side = "under" if true_peak_dbtp <= ceiling_dbtp else "over"
    ceiling = write_number(ceiling_dbtp)
    return f"True peak {write_number(true_peak_dbtp, 2)} dBTP, {side} the ceiling of {ceiling} dBTP."


def _word_making(plan: BouncePlan, figures: BounceFigures) -> list[str]:
    """Say what was done that the sheet does not say."""
    lines = []
    if figures.version_of:
        lines.append(
            f"Made with the settings and the gain of {figures.version_of}; nothing was solved again"
            + ("." if figures.drive_db is None else f", drive {write_number(figures.drive_db, 2, True)} dB.")
        )
    elif figures.drive_db is not None and plan.drive_db is not None and figures.drive_db != plan.drive_db:
        lines.append(
            f"With the sheet's drive of {write_number(plan.drive_db, 2, True)} dB it was more than "
            f"{write_number(CLOSE_LU, 2)} LU away; {write_number(figures.drive_db, 2, True)} dB was used; "
            "versions are given the same."
        )
    if figures.gain_db:
        lines.append(f"Turned down by {write_number(-figures.gain_db, 2)} dB to keep the ceiling.")
    if plan.work_rate_hz < plan.rate_hz:
        lines.append(f"Worked at {write_number(plan.work_rate_hz / 1000)} kHz: nothing lies above half of that.")
    return lines
