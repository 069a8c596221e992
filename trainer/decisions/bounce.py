"""What a bounce is made of: the kept moves in their order, rate, limiter, fades, ceiling, word length."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from trainer.audio.file_form import FileForm
from trainer.audio.resampling import choose_working_rate
from trainer.decisions.sheet import BIT_DEPTHS, RATES_HZ, Fades, Loudness, Rung, Sheet
from trainer.decisions.sheet_checks import LIMITER_MOVE
from trainer.decisions.song_results import list_steps
from trainer.dsp.move import complete_settings
from trainer.dsp.moves import MOVES
from trainer.dsp.song_chain import Step, find_streaming
from trainer.errors import BadValue, EvenhandError
from trainer.measure.standards import CEILING_DBTP, LOUDNESS_TOLERANCE_LU

FORMATS = {".wav": "WAV", ".flac": "FLAC"}
FLOAT_BITS = 32
# Further below the ceiling than a meter's rounding, as everything that is played.
PEAK_MARGIN_DB = 0.02
# Nearer than a meter's tolerance, so that another meter agrees too.
CLOSE_LU = 0.8 * LOUDNESS_TOLERANCE_LU
SAME_LENGTH_S = 0.01
SHORTEST_S = 0.4
LEAST_SLOPE, MOST_SLOPE = 0.12, 1.0

Format = Literal["WAV", "FLAC"]


class Stopped(EvenhandError):
    """Say that a bounce was stopped, and that nothing was written."""

    def __init__(self) -> None:
        super().__init__("bounce: stopped; nothing was written")


@dataclass(frozen=True)
class BouncePlan:
    """Hold what is done to a mix, in this order.

    Parameters
    ----------
    first_frame, last_frame : int
        What is kept of the file, in its own frames, the last one not included.
    work_rate_hz : int
        Rate at which the moves are made.
    steps : tuple of Step
        The kept moves.
    rate_hz : int
        Rate of the file that is made; converted to ahead of the limiter.
    push : Step or None
        The limiter with its drive; None where no loudness was chosen.
    rung : Rung or None
        The one that was chosen.
    fades : Fades
        Made on the level that is reached.
    ceiling_dbtp : float
        Highest true peak.
    bit_depth : int
        16 or 24, with triangular dither, or 32, floating point.
    file_format : str
        ``WAV`` or ``FLAC``.
    """

    first_frame: int
    last_frame: int
    work_rate_hz: int
    steps: tuple[Step, ...]
    rate_hz: int
    push: Step | None
    rung: Rung | None
    fades: Fades
    ceiling_dbtp: float
    bit_depth: int
    file_format: Format

    @property
    def aimed_lufs(self) -> float | None:
        """What the chosen rung reached, LUFS."""
        return None if self.rung is None else self.rung.reached_lufs

    @property
    def drive_db(self) -> float | None:
        """Gain into the limiter, dB; None without one."""
        return None if self.push is None else self.push.settings["drive_db"]


def plan_bounce(
    sheet: Sheet, form: FileForm, suffix: str, rate_hz: int | None = None, bit_depth: int | None = None
) -> BouncePlan:
    """Plan a bounce.

    Parameters
    ----------
    sheet : Sheet
        What was decided.
    form : FileForm
        Of the mix, or of another version of it.
    suffix : str
        ``.wav`` or ``.flac``.
    rate_hz, bit_depth : int or None
        As wished; None for what the sheet says, and a rate of 0 there for the mix's own.

    Raises
    ------
    BadValue
        If the form cannot be had, less than 0.4 s would be left, or a move is not known.
    """
    file_format = read_suffix(suffix)
    depth = sheet.delivery.bit_depth if bit_depth is None else bit_depth
    check_depth(depth, file_format)
    rate = (sheet.delivery.rate_hz if rate_hz is None else rate_hz) or form.sample_rate_hz
    if rate not in RATES_HZ and rate != form.sample_rate_hz:
        raise BadValue("bounce", "--rate", rate, f"one of {', '.join(map(str, RATES_HZ))} Hz")
    steps = list_steps(sheet.list_kept())
    for step in steps:
        complete_settings(find_streaming(step.move, MOVES), step.settings)
    first, last = _find_ends(sheet.fades, form)
    return BouncePlan(
        first,
        last,
        choose_working_rate(form.sample_rate_hz),
        steps,
        rate,
        make_push(sheet.loudness),
        sheet.loudness.rung,
        sheet.fades,
        find_ceiling(sheet.loudness),
        depth,
        file_format,
    )


def make_push(loudness: Loudness) -> Step | None:
    """Make the limiter's step with the chosen rung's drive; None where none was chosen.

    Without ``clip_over_db`` among the settings it is the limiter alone, else with the soft clipper ahead of it.
    """
    if loudness.rung is None:
        return None
    move = LIMITER_MOVE if "clip_over_db" in loudness.settings else "limiter"
    known = {parameter.name for parameter in MOVES[move].parameters}
    held = {name: value for name, value in loudness.settings.items() if name in known}
    return Step(move, complete_settings(MOVES[move], {**held, "drive_db": loudness.rung.drive_db}))


def find_ceiling(loudness: Loudness) -> float:
    """Find the highest true peak allowed, dBTP: the limiter's ceiling, or that of EBU R 128 where there is none."""
    return loudness.settings.get("ceiling_dbtp", CEILING_DBTP)


def read_suffix(suffix: str) -> Format:
    """Tell the format from a file's suffix.

    Raises
    ------
    BadValue
        If it is neither ``.wav`` nor ``.flac``.
    """
    found = FORMATS.get(suffix.lower())
    if found is None:
        raise BadValue("bounce", "--out", suffix or "no suffix", "a file that ends in .wav or .flac")
    return found  # type: ignore[return-value]


def check_depth(bit_depth: int, file_format: str) -> None:
    """Refuse a word length that a format does not hold."""
    if bit_depth not in BIT_DEPTHS:
        raise BadValue("bounce", "--bit-depth", bit_depth, f"one of {', '.join(map(str, BIT_DEPTHS))}")
    if not holds_depth(file_format, bit_depth):
        raise BadValue(
            "bounce", "--bit-depth", bit_depth, f"16 or 24 for {file_format}; 32 is floating point, WAV only"
        )


def holds_depth(file_format: str, bit_depth: int) -> bool:
    """Tell whether a format holds a word length: FLAC holds whole numbers only (RFC 9639)."""
    return bit_depth != FLOAT_BITS or file_format == "WAV"


def check_version(sheet: Sheet, form: FileForm) -> None:
    """See that another version is as long as the mix and of its rate.

    Raises
    ------
    BadValue
        If it is not.
    """
    mix, where = sheet.mix, form.file.replace("\\", "/").rsplit("/", 1)[-1]
    if form.sample_rate_hz != mix.sample_rate_hz:
        raise BadValue(where, "sample_rate_hz", form.sample_rate_hz, f"{mix.sample_rate_hz}, as the mix has")
    if abs(form.duration_s - mix.duration_s) > SAME_LENGTH_S:
        raise BadValue(where, "duration_s", f"{form.duration_s:.3f}", f"{mix.duration_s:.3f}, as the mix has")


def find_turn_down(true_peak_dbtp: float, ceiling_dbtp: float) -> float:
    """Give the gain, dB, that brings a true peak under a ceiling, so far that every meter says so; 0 where it is."""
    return min(0.0, ceiling_dbtp - PEAK_MARGIN_DB - true_peak_dbtp)


def correct_drive(drives: list[tuple[float, float]], aimed_lufs: float, low_db: float, high_db: float) -> float:
    """Give the next drive to try, dB.

    Parameters
    ----------
    drives : list of (float, float)
        Drives tried so far, dB, and the loudness each gave, LUFS; at least one.
    aimed_lufs : float
        What is wished.
    low_db, high_db : float
        Bounds of a drive.
    """
    drive, reached = drives[-1]
    slope = MOST_SLOPE
    if len(drives) > 1 and abs(drive - drives[-2][0]) > 1e-3:
        slope = (reached - drives[-2][1]) / (drive - drives[-2][0])
    step = (aimed_lufs - reached) / min(max(slope, LEAST_SLOPE), MOST_SLOPE)
    return min(max(drive + step, low_db), high_db)


def _find_ends(fades: Fades, form: FileForm) -> tuple[int, int]:
    """Turn the ends into frames of the file."""
    first = round(fades.start_s * form.sample_rate_hz)
    last = form.frames if fades.end_s is None else min(form.frames, round(fades.end_s * form.sample_rate_hz))
    kept_s, faded_s = (last - first) / form.sample_rate_hz, fades.fade_in_s + fades.fade_out_s
    if kept_s < max(SHORTEST_S, faded_s):
        expected = f"at least {max(SHORTEST_S, faded_s):g} s left, fades included"
        raise BadValue("bounce", "fades", f"{fades.start_s:g} to {last / form.sample_rate_hz:g} s", expected)
    return first, last
