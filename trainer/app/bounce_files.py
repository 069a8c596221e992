"""The files of one delivery: the mix and its versions in every form, all written and checked, or none."""

from __future__ import annotations

import math
from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import dataclass, replace
from pathlib import Path

from trainer.app.bounce_passes import (
    Limited,
    Watch,
    convert_song,
    leave_in_order,
    limit_song,
    make_moves,
    write_bounce,
)
from trainer.app.checking import gather_evidence
from trainer.audio.file_form import FileForm
from trainer.decisions.bounce import BouncePlan, find_ceiling, find_turn_down, plan_bounce
from trainer.decisions.bounce_forms import SUFFIXES, MasterForm
from trainer.decisions.bounce_words import BounceFigures, read_costs
from trainer.decisions.evidence import CodeAndDecode, Evidence
from trainer.decisions.sheet import Sheet
from trainer.dsp.song_chain import Step
from trainer.errors import BadValue
from trainer.files.bounce_writing import Scratch, open_scratch, refuse_place
from trainer.files.paths import identify_file
from trainer.files.sound_reading import hash_file
from trainer.files.whole_file import write_all

# Parts of the time of all work, and of the work at one rate.
MOVED_END, RENDERED_END, CHECKED_END = 0.35, 0.85, 0.99
CONVERTED_END, LIMITED_END = 0.2, 0.8
SEED_DIGITS = 16


@dataclass(frozen=True)
class Take:
    """Name a sound that files are made of: the mix, or another version of it.

    Parameters
    ----------
    path : Path
        Where it lies.
    form : FileForm
        What its head says.
    sha256 : str
        Of the file.
    outs : tuple of Path
        A file for each form; none where only the gains of the mix are wanted.
    """

    path: Path
    form: FileForm
    sha256: str
    outs: tuple[Path, ...]


@dataclass(frozen=True)
class MadeFile:
    """Hold a file that was made: how, of what, its hash, and what it measures."""

    take: Take
    form: MasterForm
    out: Path
    plan: BouncePlan
    sha256: str
    figures: BounceFigures
    evidence: Evidence


@dataclass(frozen=True)
class _Gains:
    """Hold what all takes are given at one rate, and how it came about.

    Parameters
    ----------
    drive_db : float or None
        Into the limiter, dB.
    gain_db : float
        Behind it, dB.
    held_by : Path
        The take whose peaks ask for that gain.
    mix_lufs, mix_gain_db : float or None
        What the mix itself comes to, and the gain of its master; None where it is not among the takes.
    """

    drive_db: float | None
    gain_db: float
    held_by: Path
    mix_lufs: float | None
    mix_gain_db: float | None


@dataclass(frozen=True)
class _Rendered:
    """Hold a file that was written, and the gains it was made with."""

    take: Take
    form: MasterForm
    out: Path
    plan: BouncePlan
    gains: _Gains


@dataclass(frozen=True)
class _Order:
    """Hold what is to be made, and where each file is written until it is given its name."""

    sheet: Sheet
    takes: Sequence[Take]
    forms: Sequence[MasterForm]
    places: dict[Path, Path]

    @property
    def beside(self) -> Path:
        """A file beside which there is room for scratch files."""
        return next(iter(self.places))

    def list_forms(self, rate_hz: int) -> list[MasterForm]:
        """List the forms of one rate."""
        return [form for form in self.forms if form.rate_hz == rate_hz]

    def list_files(self, take: Take, rate_hz: int) -> list[tuple[MasterForm, Path]]:
        """List the files of a take at one rate; none where only its gains are wanted."""
        return [(form, out) for form, out in zip(self.forms, take.outs, strict=False) if form.rate_hz == rate_hz]

    def name(self, path: Path) -> str:
        """Name the file that is worked on where there are several."""
        return f"{path.name}: " if len(self.places) > 1 else ""

    def name_take(self, take: Take, rate_hz: int) -> str:
        """Name a take by its first file of a rate."""
        files = self.list_files(take, rate_hz)
        return self.name(files[0][1] if files else take.path)


def make_files(
    sheet: Sheet, takes: Sequence[Take], forms: Sequence[MasterForm], code: CodeAndDecode | None, watch: Watch
) -> tuple[MadeFile, ...]:
    """Render, write and check all files; they get their names together, or none does.

    Parameters
    ----------
    sheet : Sheet
        What was decided.
    takes : sequence of Take
        The first one gives the drive, and the others take it over; all are turned down alike, until the loudest peak
        of any of them is under the ceiling.
    forms : sequence of MasterForm
        One for each file of a take.
    code : callable or None
        Codes for the check; None leaves that out.
    watch : Watch
        Told how far it is; may stop it.

    Raises
    ------
    BadValue
        If a file cannot be read or written, or a source was changed meanwhile.
    Stopped
        If it was stopped.
    """
    outs = [out for take in takes for out in take.outs]
    before = [identify_file(str(take.path)) for take in takes]
    for out in outs:
        if out.is_dir():
            raise BadValue("bounce", "--out", out, "a file, not a folder")
    try:
        with leave_in_order(), write_all(outs) as besides:
            order = _Order(sheet, takes, forms, dict(zip(outs, besides, strict=True)))
            rendered = _render_all(order, watch)
            made = []
            for number, each in enumerate(rendered):
                part = (CHECKED_END - RENDERED_END) / len(rendered)
                watch.look(RENDERED_END + part * number, f"{order.name(each.out)}checking the file")
                made.append(_check(sheet, each, order.places[each.out], code))
            _refuse_changed(takes, before)
    except OSError as error:
        raise refuse_place(_find_refused(outs, error), error) from None
    return tuple(made)


def _find_refused(outs: Sequence[Path], error: OSError) -> Path:
    """Find the file that could not be written or given its name; the first one where the error does not say."""
    return next((out for out in outs if str(out) in (error.filename, error.filename2)), outs[0])


def _render_all(order: _Order, watch: Watch) -> list[_Rendered]:
    """Make the moves on every take once, and from them all files of every rate."""
    rates = list(dict.fromkeys(form.rate_hz for form in order.forms))
    found: list[_Rendered] = []
    with ExitStack() as stack:
        moved = []
        for number, take in enumerate(order.takes):
            low, high = (MOVED_END * (number + end) / len(order.takes) for end in (0, 1))
            moved.append(stack.enter_context(open_scratch(order.beside)))
            part = watch.part(low, high, order.name_take(take, rates[0]))
            make_moves(take.path, _plan(order.sheet, take, order.forms[0]), moved[-1], part)
        for number, rate_hz in enumerate(rates):
            low, high = (MOVED_END + (RENDERED_END - MOVED_END) * (number + end) / len(rates) for end in (0, 1))
            found += _render_rate(order, rate_hz, moved, watch.part(low, high))
    return found


def _render_rate(order: _Order, rate_hz: int, moved: Sequence[Scratch], watch: Watch) -> list[_Rendered]:
    """Limit all takes at one rate, find the gain that keeps every one under the ceiling, and write all with it."""
    with ExitStack() as stack:
        limited: list[Limited] = []
        drive_db: float | None = None
        for number, (take, sound) in enumerate(zip(order.takes, moved, strict=True)):
            low, high = (LIMITED_END * (number + end) / len(moved) for end in (0, 1))
            plan = _drive(_plan(order.sheet, take, order.list_forms(rate_hz)[0]), drive_db)
            room = stack.enter_context(open_scratch(order.beside))
            own = not limited and take.sha256 == order.sheet.mix.sha256
            part = watch.part(low, high, order.name_take(take, rate_hz))
            limited.append(_limit(order, plan, sound, room, part, own))
            drive_db = limited[0].drive_db
        return _write(order, rate_hz, limited, _find_gains(order, limited), watch)


def _find_gains(order: _Order, limited: Sequence[Limited]) -> _Gains:
    """Find the gain that keeps every take under the ceiling, and what it is for the mix."""
    ceiling_dbtp = find_ceiling(order.sheet.loudness)
    downs = [find_turn_down(each.true_peak_dbtp, ceiling_dbtp) for each in limited]
    gain_db, mix = min(downs), order.takes[0]
    drive_db, held_by = limited[0].drive_db, order.takes[downs.index(gain_db)].path
    if mix.sha256 != order.sheet.mix.sha256:
        return _Gains(drive_db, gain_db, held_by, None, None)
    # Where only its gains are wanted, the master of the mix is made, or was made, without the others.
    return _Gains(drive_db, gain_db, held_by, limited[0].loudness_lufs + gain_db, gain_db if mix.outs else downs[0])


def _drive(plan: BouncePlan, drive_db: float | None) -> BouncePlan:
    """Put the drive of the first take into the plan of another one."""
    if drive_db is None or plan.push is None:
        return plan
    return replace(plan, push=Step(plan.push.move, {**plan.push.settings, "drive_db": drive_db}))


def _limit(order: _Order, plan: BouncePlan, moved: Scratch, room: Scratch, watch: Watch, own: bool) -> Limited:
    """Convert what the moves made where the file has another rate, and limit it."""
    if plan.work_rate_hz == plan.rate_hz:
        return limit_song(plan, moved, room, watch, correct=own)
    with open_scratch(order.beside) as made:
        convert_song(plan, moved, made, watch.part(0.0, CONVERTED_END))
        return limit_song(plan, made, room, watch.part(CONVERTED_END, 1.0), correct=own)


def _write(order: _Order, rate_hz: int, limited: Sequence[Limited], gains: _Gains, watch: Watch) -> list[_Rendered]:
    """Write every take in each form of a rate."""
    written: list[_Rendered] = []
    count = sum(len(order.list_files(take, rate_hz)) for take in order.takes)
    for take, found in zip(order.takes, limited, strict=True):
        seed = int(take.sha256[:SEED_DIGITS], 16)
        for form, out in order.list_files(take, rate_hz):
            low, high = (LIMITED_END + (1 - LIMITED_END) * (len(written) + end) / count for end in (0, 1))
            plan, part = _plan(order.sheet, take, form), watch.part(low, high, order.name(out))
            write_bounce(plan, found.sound, gains.gain_db, order.places[out], seed, part)
            written.append(_Rendered(take, form, out, plan, gains))
    return written


def _plan(sheet: Sheet, take: Take, form: MasterForm) -> BouncePlan:
    return plan_bounce(sheet, take.form, SUFFIXES[form.file_format], form.rate_hz, form.bit_depth)


def _check(sheet: Sheet, rendered: _Rendered, place: Path, code: CodeAndDecode | None) -> MadeFile:
    """Measure a file as it is on the disk."""
    evidence = gather_evidence(str(place), code)
    evidence = replace(evidence, form=replace(evidence.form, file=str(rendered.out)))
    loudness, peaks = evidence.programme.loudness, evidence.programme.peaks
    if not math.isfinite(loudness.integrated_lufs):
        raise BadValue(rendered.take.path.name, "integrated_lufs", "−∞", "sound above the −70 LUFS gate")
    gains, take = rendered.gains, rendered.take
    figures = BounceFigures(
        loudness.integrated_lufs,
        peaks.true_peak_dbtp,
        gains.drive_db,
        gains.gain_db,
        Path(sheet.mix.path).name if take.sha256 != sheet.mix.sha256 else "",
        read_costs(evidence.programme),
        rendered.form.targets,
        rendered.form.rate_hz != take.form.sample_rate_hz,
        gains.mix_lufs,
        gains.mix_gain_db,
        "" if gains.held_by == take.path else gains.held_by.name,
    )
    return MadeFile(rendered.take, rendered.form, rendered.out, rendered.plan, hash_file(place), figures, evidence)


def _refuse_changed(takes: Sequence[Take], before: Sequence[tuple[str, int, int]]) -> None:
    """See that no source was written over while it was read."""
    for take, known in zip(takes, before, strict=True):
        if identify_file(str(take.path)) != known:
            raise BadValue("bounce", "mix", take.path, "a file that stays as it is meanwhile; nothing was written")
