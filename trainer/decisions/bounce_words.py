"""A bounce in words: what was made, and how near it comes to the sheet."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from trainer.audio.file_form import FileForm
from trainer.decisions.bounce import CLOSE_LU, FLOAT_BITS, BouncePlan, find_ceiling
from trainer.decisions.sheet import Rung, Sheet
from trainer.decisions.sheet_words import name_figure
from trainer.measure.programme import Programme
from trainer.measure.standards import LOUDNESS_TOLERANCE_LU
from trainer.units import begin_large, write_number

WITHIN_DB = 0.2
SAME_LENGTH_S = 0.05
GAIN_DIGITS = 2
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
    targets : tuple of str
        Those that the file is judged by.
    converted : bool
        Whether it has another rate than the mix.
    mix_lufs : float or None
        Loudness of the mix itself with the same drive and gain; None where it is not at hand.
    mix_gain_db : float or None
        What the master of the mix is turned down by: as this file where they are made together, else made alone; None
        where the mix is not at hand.
    held_by : str
        The other file whose peaks ask for the gain; empty where its own do.
    """

    loudness_lufs: float
    true_peak_dbtp: float
    drive_db: float | None
    gain_db: float
    version_of: str = ""
    costs: Mapping[str, float] = field(default_factory=dict)
    targets: tuple[str, ...] = ()
    converted: bool = False
    mix_lufs: float | None = None
    mix_gain_db: float | None = None
    held_by: str = ""

    @property
    def turned_down(self) -> bool:
        """Tell whether it was turned down by so much as is shown."""
        return is_shown(self.gain_db)


def is_shown(gain_db: float) -> bool:
    """Tell whether a gain is more than nothing once it is written."""
    return write_number(gain_db, GAIN_DIGITS) != write_number(0.0, GAIN_DIGITS)


def word_bounce(plan: BouncePlan, figures: BounceFigures) -> list[str]:
    """Compare a file with its sheet, in sentences with the measured values."""
    peak = _word_peak(figures.true_peak_dbtp, plan.ceiling_dbtp)
    costs = [] if figures.version_of else _word_costs(plan.rung, figures.costs)
    return [_word_loudness(plan, figures), peak, *costs, *_word_making(plan, figures), *_word_missing(plan, figures)]


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


def _word_loudness(plan: BouncePlan, figures: BounceFigures) -> str:
    """Say how loud the file is against the chosen rung."""
    reached = f"Loudness {write_number(figures.loudness_lufs)} LUFS"
    if figures.version_of:
        return f"{reached}{_compare_with_mix(plan, figures)}"
    if plan.aimed_lufs is None:
        return f"{reached}; no loudness is chosen on the sheet, so there is no limiter."
    away = abs(figures.loudness_lufs - plan.aimed_lufs)
    why = "" if away <= LOUDNESS_TOLERANCE_LU else _explain(plan, figures)
    said = _word_away(figures.loudness_lufs, plan.aimed_lufs, f"; {why}" if why else "")
    return f"{reached}, {said}." if away <= WITHIN_DB else f"{reached}, {said}: {why}."


def _compare_with_mix(plan: BouncePlan, figures: BounceFigures) -> str:
    """Say how loud a version is beside its mix, and why it is left so where it is louder."""
    mix_lufs = plan.aimed_lufs if figures.mix_lufs is None else figures.mix_lufs
    if mix_lufs is None:
        return "."
    louder = figures.loudness_lufs - mix_lufs
    beside = f"{write_number(mix_lufs)} LUFS"
    if louder <= WITHIN_DB:
        return f"; {figures.version_of} comes to {beside} so."
    return (
        f", {write_number(louder)} LU louder than {figures.version_of}, which comes to {beside} with the same "
        "settings. It was left so: as far apart as the mixes are, one can stand in for the other."
    )


def _explain(plan: BouncePlan, figures: BounceFigures) -> str:
    """Say why a loudness was not met."""
    if _gives_way(plan, figures):
        return f"it was turned down by {write_number(-figures.gain_db)} dB to keep the ceiling"
    return "it cannot be had with these moves and this limiter; choose a rung again"


def _gives_way(plan: BouncePlan, figures: BounceFigures) -> bool:
    """Tell whether a loudness is missed because of the ceiling, for the greater part."""
    if figures.version_of or plan.aimed_lufs is None:
        return False
    away = abs(figures.loudness_lufs - plan.aimed_lufs)
    return away > LOUDNESS_TOLERANCE_LU and -figures.gain_db >= away / 2


def _word_peak(true_peak_dbtp: float, ceiling_dbtp: float) -> str:
    """Say where the true peak is against the ceiling."""
    side = "under" if true_peak_dbtp <= ceiling_dbtp else "over"
    ceiling = write_number(ceiling_dbtp)
    return f"True peak {write_number(true_peak_dbtp, 2)} dBTP, {side} the ceiling of {ceiling} dBTP."


def _word_making(plan: BouncePlan, figures: BounceFigures) -> list[str]:
    """Say what was done that the sheet does not say."""
    lines = []
    if figures.version_of:
        lines.append(_word_version(figures))
    elif figures.drive_db is not None and plan.drive_db is not None and is_shown(figures.drive_db - plan.drive_db):
        lines.append(
            f"With the sheet's drive of {write_number(plan.drive_db, 2, True)} dB it was more than "
            f"{write_number(CLOSE_LU, 2)} LU away; {write_number(figures.drive_db, 2, True)} dB was used; "
            "versions are given the same."
        )
    # Where the loudness was missed by it, that has been said.
    if figures.turned_down and (figures.held_by or not _gives_way(plan, figures)):
        lines.append(_word_gain(figures))
    if plan.work_rate_hz < plan.rate_hz:
        lines.append(f"Worked at {write_number(plan.work_rate_hz / 1000)} kHz: nothing lies above half of that.")
    return lines


def _word_version(figures: BounceFigures) -> str:
    """Say what a version was made with."""
    drive = "" if figures.drive_db is None else f", drive {write_number(figures.drive_db, 2, True)} dB"
    if figures.mix_gain_db is None:
        return (
            f"{figures.version_of} is not at hand, and its gain is not known: made with the sheet's settings; nothing "
            f"was solved again{drive}."
        )
    gain = "" if _lies_apart(figures) else " and the gain"
    return f"Made with the settings{gain} of {figures.version_of}; nothing was solved again{drive}."


def _word_gain(figures: BounceFigures) -> str:
    """Say why a file was turned down, and what follows where the master of the mix was not turned down as far."""
    down = f"Turned down by {write_number(-figures.gain_db, GAIN_DIGITS)} dB"
    if figures.held_by:
        return f"{down}, so that {figures.held_by}, with the same gain, keeps the ceiling too."
    if not _lies_apart(figures):
        return f"{down} to keep the ceiling."
    assert figures.mix_gain_db is not None
    own_db, more_db = -figures.mix_gain_db, figures.mix_gain_db - figures.gain_db
    alone = f"is turned down by {write_number(own_db, GAIN_DIGITS)} dB" if is_shown(own_db) else "is not turned down"
    return (
        f"{down} to keep the ceiling: at the gain of {figures.version_of}, which alone {alone}, its peaks would pass "
        f"it. For the same distance turn that master down by {write_number(more_db, GAIN_DIGITS)} dB, or make both "
        "together in the Delivery step."
    )


def _lies_apart(figures: BounceFigures) -> bool:
    """Tell whether a version was turned down by more than the master of its mix."""
    return figures.mix_gain_db is not None and is_shown(figures.gain_db - figures.mix_gain_db)


def _word_missing(plan: BouncePlan, figures: BounceFigures) -> list[str]:
    """Say what the sheet leaves out, and what the file is then."""
    missing = [*([] if plan.steps else ["keeps no move"]), *([] if figures.targets else ["aims at no target"])]
    if not missing:
        return []
    made = [] if plan.steps else [f"the file is the mix {_join(_list_made(plan, figures)) or 'as it is'}"]
    judged = [] if figures.targets else [f"{'' if made else 'the file is '}measured and not judged"]
    return [f"The sheet {' and '.join(missing)}: {', '.join([*made, *judged])}."]


def _list_made(plan: BouncePlan, figures: BounceFigures) -> list[str]:
    """List what is done to a mix besides moves, in the order in which it is done."""
    fades = plan.fades
    done = {
        "cut ends": fades.start_s > 0 or fades.end_s is not None,
        "another rate": figures.converted,
        "the limiter": plan.push is not None,
        "fades": fades.fade_in_s > 0 or fades.fade_out_s > 0,
        "less gain": figures.turned_down,
        "dither": plan.bit_depth != FLOAT_BITS,
    }
    return [words for words, made in done.items() if made]


def _join(words: list[str]) -> str:
    """Join words after ``with``; nothing for none."""
    if len(words) < 2:
        return f"with {words[0]}" if words else ""
    return f"with {', '.join(words[:-1])} and {words[-1]}"
