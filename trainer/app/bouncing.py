"""A master made from a decision sheet, for `evenhand bounce`: rendered, measured, checked, compared with the sheet."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from trainer.app.bounce_files import MadeFile, Take, make_files
from trainer.app.bounce_passes import Watch
from trainer.app.checking import gather_evidence
from trainer.app.conditions import Conditions
from trainer.decisions.bounce import BouncePlan, check_version, plan_bounce
from trainer.decisions.bounce_forms import MasterForm
from trainer.decisions.bounce_words import BounceFigures, read_costs, word_bounce, word_file
from trainer.decisions.check_words import word_check
from trainer.decisions.delivery import judge_delivery, list_check, sum_up
from trainer.decisions.evidence import CodeAndDecode, Evidence
from trainer.decisions.sheet import Bounced, Sheet
from trainer.decisions.target import OUTCOMES, Outcome, Target
from trainer.errors import BadValue, EvenhandError
from trainer.files.folders import choose_data_folder
from trainer.files.sheet_file import open_sheet
from trainer.files.sound_blocks import open_sound
from trainer.files.sound_reading import hash_file
from trainer.files.sound_writing import refuse_overwriting
from trainer.files.target_reading import find_target, list_targets

SHORT_HASH = 12


@dataclass(frozen=True)
class BounceWish:
    """What `evenhand bounce` was asked for; None stands for what the sheet says."""

    out: str
    rate_hz: int | None = None
    bit_depth: int | None = None
    mix: str | None = None
    force: bool = False


@dataclass(frozen=True)
class BounceResult:
    """Hold what was made.

    Parameters
    ----------
    plan : BouncePlan or None
        What was done; None for a file that was made elsewhere.
    bounced : Bounced
        For the sheet: the file, its hash, what it measures, the worst verdict of all targets.
    figures : BounceFigures
        How it came about; its drive, where it is not the sheet's, is the better one.
    words : tuple of str
        Compared with the sheet, in sentences.
    checks : tuple of dict
        As `evenhand check` gives them, one to a target, or one without verdicts where none is aimed at.
    """

    plan: BouncePlan | None
    bounced: Bounced
    figures: BounceFigures
    words: tuple[str, ...]
    checks: tuple[dict[str, Any], ...]

    @property
    def failed(self) -> bool:
        """Tell whether a target's check failed."""
        return any(check["verdict"] == "fail" for check in self.checks)


def bounce_file(
    conditions: Conditions, path: str, wish: BounceWish, code: CodeAndDecode | None = None, watch: Watch | None = None
) -> BounceResult:
    """Make a master from a sheet's file; see `bounce_sheet`."""
    place = Path(path).expanduser()
    sheet = open_sheet(place)
    mix = find_mix(sheet, place.parent) if wish.mix is None else Path(wish.mix).expanduser()
    return bounce_sheet(conditions, sheet, mix, wish, code, watch)


def bounce_sheet(
    conditions: Conditions,
    sheet: Sheet,
    mix: Path,
    wish: BounceWish,
    code: CodeAndDecode | None = None,
    watch: Watch | None = None,
) -> BounceResult:
    """Make a master: two passes over scratch files beside it, then the file, then its check.

    Parameters
    ----------
    conditions : Conditions
        Where targets of one's own lie.
    sheet : Sheet
        What was decided.
    mix : Path
        The mix of the sheet, wherever it lies now, or another version of it of the same length.
    wish : BounceWish
        Where to, and in which form.
    code : callable or None
        Codes for the check; None leaves that out.
    watch : Watch or None
        Told how far it is; may stop it.

    Returns
    -------
    BounceResult

    Raises
    ------
    BadValue
        If the sheet, the mix or the place does not allow it; no file is left then.
    Stopped
        If it was stopped.
    """
    watch, out = watch or Watch(), Path(wish.out).expanduser()
    take = read_take(mix, (out,))
    version = take.sha256 != sheet.mix.sha256
    plan = plan_bounce(sheet, take.form, out.suffix, wish.rate_hz, wish.bit_depth)
    targets = find_targets(conditions, sheet)
    refuse_overwriting([out], wish.force)
    if version and wish.mix is None:
        raise refuse_changed_mix(sheet, mix, take.sha256)
    takes = [take]
    if version:
        check_version(sheet, take.form)
        takes = [*_find_main(sheet, mix.parent), take]
    refuse_sources(takes)
    form = MasterForm(plan.rate_hz, plan.bit_depth, plan.file_format, sheet.aim.targets)
    (made,) = make_files(sheet, takes, (form,), code, watch)
    watch.tell(1.0, "done")
    return judge_file(made, targets)


def read_take(path: Path, outs: tuple[Path, ...]) -> Take:
    """Read the head and the hash of a sound that files are to be made of.

    Raises
    ------
    BadValue
        If it cannot be read.
    """
    with open_sound(str(path)) as sound:
        form = sound.form
    return Take(path, form, hash_file(path), outs)


def refuse_changed_mix(sheet: Sheet, mix: Path, sha256: str) -> BadValue:
    """Say that a mix is another sound than its sheet was begun for."""
    expected = f"{sheet.mix.sha256[:SHORT_HASH]} ...; the mix has changed since the sheet was begun"
    return BadValue(mix.name, "sha256", f"{sha256[:SHORT_HASH]} ...", expected)


def refuse_sources(takes: Sequence[Take]) -> None:
    """Never write over what is read.

    Raises
    ------
    BadValue
        If one of the files would take the place of a source.
    """
    for out in (out for take in takes for out in take.outs if out.exists()):
        if any(out.samefile(take.path) for take in takes):
            raise BadValue("bounce", "--out", out, "another file than the mix, which is never changed")


def check_against_sheet(
    conditions: Conditions, sheet: Sheet, path: Path, code: CodeAndDecode | None = None
) -> BounceResult:
    """Check a file that was made elsewhere: by the targets of a sheet, and against what the sheet says.

    Raises
    ------
    BadValue
        If it cannot be read, or is silent.
    """
    targets = find_targets(conditions, sheet)
    evidence = gather_evidence(str(path), code)
    programme = evidence.programme
    loudness, peak = programme.loudness.integrated_lufs, programme.peaks.true_peak_dbtp
    if not math.isfinite(loudness):
        raise BadValue(path.name, "integrated_lufs", "−∞", "sound above the −70 LUFS gate")
    figures = BounceFigures(loudness, peak, None, 0.0, "", read_costs(programme))
    return _sum_up(None, path, hash_file(path), evidence, targets, figures, word_file(sheet, evidence.form, figures))


def find_mix(sheet: Sheet, folder: Path) -> Path:
    """Find a sheet's mix where it was, or in a folder under its name.

    Raises
    ------
    BadValue
        If it is in neither.
    """
    there = Path(sheet.mix.path).expanduser()
    for place in (there, folder / there.name):
        if place.is_file():
            return place
    raise BadValue("bounce", "mix", sheet.mix.path, "the mix where it was, beside the sheet, or named with --mix")


def _find_main(sheet: Sheet, folder: Path) -> list[Take]:
    """Find the mix that gives a version its gains; none where it is no longer there as it was."""
    try:
        main = read_take(find_mix(sheet, folder), ())
    except EvenhandError:
        return []
    return [main] if main.sha256 == sheet.mix.sha256 else []


def find_targets(conditions: Conditions, sheet: Sheet) -> tuple[Target, ...]:
    """Find the targets that are aimed at.

    Raises
    ------
    BadValue
        If one of them is not known.
    """
    if not sheet.aim.targets:
        return ()
    known: Mapping[str, Target] = list_targets(choose_data_folder(conditions.data))
    return tuple(find_target(dict(known), name) for name in sheet.aim.targets)


def judge_file(made: MadeFile, targets: tuple[Target, ...]) -> BounceResult:
    """Judge a file that was made by the targets that it is for, and against the sheet."""
    mine = tuple(target for target in targets if target.target in made.form.targets)
    words = word_bounce(made.plan, made.figures)
    return _sum_up(made.plan, made.out, made.sha256, made.evidence, mine, made.figures, words)


def _sum_up(
    plan: BouncePlan | None,
    out: Path,
    sha256: str,
    evidence: Evidence,
    targets: tuple[Target, ...],
    figures: BounceFigures,
    words: list[str],
) -> BounceResult:
    """Judge the file by every target."""
    judged = [(target, judge_delivery(evidence, target)) for target in targets]
    checks = [list_check(evidence, target, verdicts) for target, verdicts in judged] or [list_check(evidence, None, ())]
    outcomes: list[Outcome] = [found for _, verdicts in judged if (found := sum_up(verdicts)) is not None]
    worst = max(outcomes, key=OUTCOMES.index, default="")
    bounced = Bounced(
        str(out.absolute()),
        sha256,
        evidence.form.sample_rate_hz,
        evidence.form.bit_depth or 0,
        figures.loudness_lufs,
        figures.true_peak_dbtp,
        worst,
    )
    return BounceResult(plan, bounced, figures, tuple(words), tuple(checks))


def list_bounce(result: BounceResult) -> dict[str, Any]:
    """List what was made as plain facts; what is no number is null."""
    plan = result.plan
    assert plan is not None, "a file that was made elsewhere has a check, and no bounce"
    figures = {name: _plain(value) for name, value in asdict(result.figures).items()}
    file = {name: _plain(value) for name, value in asdict(result.bounced).items()}
    return {
        "file": file.pop("path"),
        **file,
        "aimed_lufs": plan.aimed_lufs,
        "ceiling_dbtp": plan.ceiling_dbtp,
        "sheet_drive_db": plan.drive_db,
        "moves": [{"move": step.move, "settings": dict(step.settings)} for step in plan.steps],
        **{name: figures[name] for name in ("drive_db", "gain_db", "version_of", "costs")},
        "compared": list(result.words),
        "checks": list(result.checks),
    }


def word_result(result: BounceResult) -> list[str]:
    """Word what was made, and each check."""
    lines = [*result.words]
    for check in result.checks:
        lines += word_check(check)
    return [*lines, result.bounced.path]


def _plain(value: object) -> object:
    """Round a float as other facts are; None for what is no number."""
    if not isinstance(value, float):
        return value
    return round(value, 3) + 0.0 if math.isfinite(value) else None
