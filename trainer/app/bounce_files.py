"""The files of one delivery: the mix and its versions in every form, all written and checked, or none."""

from __future__ import annotations

import math
from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import dataclass, replace
from pathlib import Path

from trainer.app.bounce_passes import LIMITER_END, Watch, leave_in_order, limit_song, make_moves, write_bounce
from trainer.app.checking import gather_evidence
from trainer.audio.file_form import FileForm
from trainer.decisions.bounce import BouncePlan, find_turn_down, plan_bounce
from trainer.decisions.bounce_forms import SUFFIXES, MasterForm
from trainer.decisions.bounce_words import BounceFigures, read_costs
from trainer.decisions.evidence import CodeAndDecode, Evidence
from trainer.decisions.sheet import Sheet
from trainer.dsp.song_chain import Step
from trainer.errors import BadValue
from trainer.files.bounce_writing import open_scratch, refuse_place
from trainer.files.paths import identify_file
from trainer.files.sound_reading import hash_file
from trainer.files.whole_file import write_whole

RENDERED_END, CHECKED_END = 0.85, 0.99
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
    """Hold what the mix came to at one rate: the drive into the limiter, and the gain behind it, dB."""

    drive_db: float | None
    gain_db: float


def make_files(
    sheet: Sheet, takes: Sequence[Take], forms: Sequence[MasterForm], code: CodeAndDecode | None, watch: Watch
) -> tuple[MadeFile, ...]:
    """Render, write and check all files; they get their names together, or none does.

    Parameters
    ----------
    sheet : Sheet
        What was decided.
    takes : sequence of Take
        The first one gives the gains, and the others take them over.
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
    try:
        with leave_in_order(), ExitStack() as whole:
            places = {out: _open_place(whole, out) for out in outs}
            rendered = _render_all(sheet, takes, forms, places, watch)
            made = []
            for number, each in enumerate(rendered):
                part = (CHECKED_END - RENDERED_END) / len(rendered)
                watch.look(RENDERED_END + part * number, f"{_lead(outs, each.out)}checking the file")
                made.append(_check(sheet, each, places[each.out], code))
            _refuse_changed(takes, before)
    except OSError as error:
        raise refuse_place(outs[0], error) from None
    return tuple(made)


@dataclass(frozen=True)
class _Rendered:
    """Hold a file that was written, and the gains it was made with."""

    take: Take
    form: MasterForm
    out: Path
    plan: BouncePlan
    gains: _Gains


def _open_place(whole: ExitStack, out: Path) -> Path:
    """Open a place to write to."""
    if out.is_dir():
        raise BadValue("bounce", "--out", out, "a file, not a folder")
    try:
        return whole.enter_context(write_whole(out))
    except OSError as error:
        raise refuse_place(out, error) from None


def _render_all(
    sheet: Sheet, takes: Sequence[Take], forms: Sequence[MasterForm], places: dict[Path, Path], watch: Watch
) -> list[_Rendered]:
    """Render every take at every rate that is wanted."""
    rates = list(dict.fromkeys(form.rate_hz for form in forms))
    found: list[_Rendered] = []
    for number, rate_hz in enumerate(rates):
        gains: _Gains | None = None
        for place, take in enumerate(takes):
            done, count = number * len(takes) + place, len(rates) * len(takes)
            wanted = [(form, out) for form, out in zip(forms, take.outs, strict=False) if form.rate_hz == rate_hz]
            lead = _lead(list(places), wanted[0][1] if wanted else take.path)
            part = watch.part(RENDERED_END * done / count, RENDERED_END * (done + 1) / count, lead)
            at_rate = [form for form in forms if form.rate_hz == rate_hz]
            taken, written = _render(sheet, take, at_rate[0], wanted, gains, places, part)
            gains = gains or taken
            found += written
    return found


def _render(
    sheet: Sheet,
    take: Take,
    first: MasterForm,
    wanted: Sequence[tuple[MasterForm, Path]],
    gains: _Gains | None,
    places: dict[Path, Path],
    watch: Watch,
) -> tuple[_Gains, list[_Rendered]]:
    """Render one take at one rate, and write it in each form that is wanted."""
    plan = _plan(sheet, take, first)
    if gains is not None and gains.drive_db is not None and plan.push is not None:
        drive = {**plan.push.settings, "drive_db": gains.drive_db}
        plan = replace(plan, push=Step(plan.push.move, drive))
    beside = next(iter(places))
    written = []
    with open_scratch(beside) as made, open_scratch(beside) as limited:
        make_moves(take.path, plan, made, watch)
        own = gains is None and take.sha256 == sheet.mix.sha256
        found = limit_song(plan, made, limited, watch, correct=own)
        used = gains or _Gains(found.drive_db, find_turn_down(found.true_peak_dbtp, plan.ceiling_dbtp))
        for number, (form, out) in enumerate(wanted):
            low, high = (LIMITER_END + (1 - LIMITER_END) * (number + end) / len(wanted) for end in (0, 1))
            own_plan = _plan(sheet, take, form)
            seed = int(take.sha256[:SEED_DIGITS], 16)
            write_bounce(own_plan, found.sound, used.gain_db, places[out], seed, watch.part(low, high))
            written.append(_Rendered(take, form, out, own_plan, used))
    return used, written


def _plan(sheet: Sheet, take: Take, form: MasterForm) -> BouncePlan:
    return plan_bounce(sheet, take.form, SUFFIXES[form.file_format], form.rate_hz, form.bit_depth)


def _check(sheet: Sheet, rendered: _Rendered, place: Path, code: CodeAndDecode | None) -> MadeFile:
    """Measure a file as it is on the disk."""
    evidence = gather_evidence(str(place), code)
    evidence = replace(evidence, form=replace(evidence.form, file=str(rendered.out)))
    loudness, peaks = evidence.programme.loudness, evidence.programme.peaks
    if not math.isfinite(loudness.integrated_lufs):
        raise BadValue(rendered.take.path.name, "integrated_lufs", "−∞", "sound above the −70 LUFS gate")
    version = rendered.take.sha256 != sheet.mix.sha256
    figures = BounceFigures(
        loudness.integrated_lufs,
        peaks.true_peak_dbtp,
        rendered.gains.drive_db,
        rendered.gains.gain_db,
        Path(sheet.mix.path).name if version else "",
        read_costs(evidence.programme),
    )
    return MadeFile(rendered.take, rendered.form, rendered.out, rendered.plan, hash_file(place), figures, evidence)


def _refuse_changed(takes: Sequence[Take], before: Sequence[tuple[str, int, int]]) -> None:
    """See that no source was written over while it was read."""
    for take, known in zip(takes, before, strict=True):
        if identify_file(str(take.path)) != known:
            raise BadValue("bounce", "mix", take.path, "a file that stays as it is meanwhile; nothing was written")


def _lead(outs: Sequence[Path], path: Path) -> str:
    """Name the file that is worked on where there are several."""
    return f"{path.name}: " if len(outs) > 1 else ""
