"""All files that a sheet's targets need, made in one go: of the mix, and of other versions of it."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from trainer.app.bounce_files import MadeFile, Take, make_files
from trainer.app.bounce_passes import Watch
from trainer.app.bouncing import (
    BounceResult,
    find_targets,
    judge_file,
    read_take,
    refuse_changed_mix,
    refuse_sources,
)
from trainer.app.conditions import Conditions
from trainer.app.version_checking import check_version_files
from trainer.decisions.bounce import check_version, read_suffix
from trainer.decisions.bounce_forms import MasterForm, choose_forms, name_masters
from trainer.decisions.evidence import CodeAndDecode
from trainer.decisions.sheet import Sheet
from trainer.decisions.target import Target
from trainer.decisions.version_check_words import word_version_check
from trainer.errors import BadValue
from trainer.files.sound_reading import hash_file

MADE_END = 0.92


@dataclass(frozen=True)
class DeliveryPlan:
    """Hold what is going to be made.

    Parameters
    ----------
    sheet : Sheet
        What was decided.
    targets : tuple of Target
        Those that are aimed at.
    forms : tuple of MasterForm
        Forms of the files.
    takes : tuple of Take
        The mix first, then its versions; each with a file for each form.
    """

    sheet: Sheet
    targets: tuple[Target, ...]
    forms: tuple[MasterForm, ...]
    takes: tuple[Take, ...]

    def list_taken(self, own: Sequence[str]) -> tuple[Path, ...]:
        """List the places where something is that does not have one of these hashes."""
        outs = (out for take in self.takes for out in take.outs)
        return tuple(out for out in outs if out.is_dir() or (out.exists() and hash_file(out) not in own))


def plan_delivery(conditions: Conditions, sheet: Sheet, out: Path, versions: Sequence[Path] = ()) -> DeliveryPlan:
    """Plan the files that a sheet's targets need, before any work is done.

    Parameters
    ----------
    conditions : Conditions
        Where targets of one's own lie.
    sheet : Sheet
        What was decided.
    out : Path
        The master; with several files its name begins theirs. Versions lie beside it, under names of their own.
    versions : sequence of Path
        Other versions of the mix, as long as it and of its rate.

    Raises
    ------
    BadValue
        If the mix is not the sheet's, a version does not fit or is there twice, two files would have one name, or a
        source be written over.
    """
    mix = Path(sheet.mix.path).expanduser()
    file_format = read_suffix(out.suffix)
    targets = find_targets(conditions, sheet)
    take = read_take(mix, ())
    if take.sha256 != sheet.mix.sha256:
        raise refuse_changed_mix(sheet, mix, take.sha256)
    delivery = sheet.delivery
    wished = MasterForm(delivery.rate_hz or take.form.sample_rate_hz, delivery.bit_depth, file_format)
    forms = choose_forms(targets, wished)
    takes = [Take(take.path, take.form, take.sha256, _place(out.parent, out.stem, forms))]
    for path in versions:
        version = read_take(path, ())
        check_version(sheet, version.form)
        outs = _place(out.parent, f"{path.stem} master", forms)
        takes.append(Take(path, version.form, version.sha256, outs))
    _refuse_twice(takes)
    refuse_sources(takes)
    return DeliveryPlan(sheet, targets, forms, tuple(takes))


def deliver(
    plan: DeliveryPlan, code: CodeAndDecode | None = None, watch: Watch | None = None
) -> tuple[tuple[tuple[MadeFile, BounceResult], ...], tuple[str, ...]]:
    """Make the files of a plan; all of them are written, or none.

    Returns
    -------
    tuple
        Each file with its verdict, and how the versions lie against the mix, in sentences.

    Raises
    ------
    BadValue
        If a file cannot be read or written.
    Stopped
        If it was stopped.
    """
    watch = watch or Watch()
    several = len(plan.takes) > 1
    part = watch.part(0.0, MADE_END if several else 1.0)
    made = make_files(plan.sheet, plan.takes, plan.forms, code, part)
    judged = tuple((each, judge_file(each, plan.targets)) for each in made)
    lined_up = _line_up(plan, watch.part(MADE_END, 1.0)) if several else ()
    watch.tell(1.0, "done")
    return judged, lined_up


def _place(folder: Path, stem: str, forms: Sequence[MasterForm]) -> tuple[Path, ...]:
    """Place the files of one take."""
    return tuple(folder / name for name in name_masters(stem, forms))


def _line_up(plan: DeliveryPlan, watch: Watch) -> tuple[str, ...]:
    """Compare the versions with the mix, in the files that were made of them in the first form."""
    checked = check_version_files([str(take.outs[0]) for take in plan.takes], watch.tell)
    lines = [str(error) for error in checked.errors]
    return (*(word_version_check(checked.facts)[1:] if checked.facts else ()), *lines)


def _refuse_twice(takes: Sequence[Take]) -> None:
    """See that every file has a name of its own, on every disk, and every version a sound of its own."""
    outs = [out for take in takes for out in take.outs]
    # Some disks hold names that differ in capitals, or in how an accent is written, for one name.
    names = [unicodedata.normalize("NFC", unicodedata.normalize("NFC", str(out)).casefold()) for out in outs]
    for out, name in zip(outs, names, strict=True):
        if names.count(name) > 1:
            raise BadValue("bounce", "file", out.name, "a name of its own for each file; rename one of the versions")
    for number, take in enumerate(takes):
        if any(take.sha256 == other.sha256 for other in takes[:number]):
            expected = "another sound than the mix's and each other version's; it is the same file, byte for byte"
            raise BadValue("bounce", "version", take.path.name, expected)
