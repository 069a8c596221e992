"""The desk's work on deliveries: files made from a sheet, and files checked against it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from trainer.app.bounce_passes import Watch
from trainer.app.bouncing import check_against_sheet
from trainer.app.conditions import Conditions
from trainer.app.delivering import deliver, plan_delivery
from trainer.app.delivery_words import word_judged, word_lines
from trainer.decisions.bounce_forms import word_form
from trainer.decisions.mix_jobs import BounceChecked, CheckFile, Delivered, MakeBounce, PlacesTaken
from trainer.files.coding import code_clip
from trainer.files.folders import choose_data_folder
from trainer.files.target_reading import list_targets
from trainer.workshop.desk import Tell


class DeliveryDesk:
    """Make files and check them.

    Parameters
    ----------
    conditions : Conditions
        Where targets of one's own lie.
    """

    def __init__(self, conditions: Conditions) -> None:
        self._conditions = conditions
        self.works: dict[type, Callable[[Any, Tell], Any]] = {MakeBounce: self._bounce, CheckFile: self._check}

    def _bounce(self, job: MakeBounce, tell: Tell) -> Delivered | PlacesTaken:
        """Make all files that a sheet's targets need, and check them; what is not from here is asked about first."""
        versions = [Path(path).expanduser() for path in job.versions]
        plan = plan_delivery(self._conditions, job.sheet, Path(job.out).expanduser(), versions)
        taken = () if job.force else plan.list_taken(job.own)
        if taken:
            return PlacesTaken(job, tuple(map(str, taken)))
        made, lined_up = deliver(plan, code_clip, Watch(tell))
        titles = self._list_titles()
        files = tuple(
            BounceChecked(
                result.bounced,
                word_lines(result, titles),
                word_form(each.form),
                word_judged(result, titles),
                each.figures.version_of,
            )
            for each, result in made
        )
        return Delivered(files, lined_up, made=True)

    def _check(self, job: CheckFile, tell: Tell) -> Delivered:
        """Check a file against a sheet's targets and its loudness."""
        tell(0.1, "Reading the file")
        result = check_against_sheet(self._conditions, job.sheet, Path(job.path).expanduser(), code_clip)
        titles = self._list_titles()
        checked = BounceChecked(result.bounced, word_lines(result, titles), "", word_judged(result, titles))
        return Delivered((checked,))

    def _list_titles(self) -> dict[str, str]:
        """List the titles of the targets there are."""
        targets = list_targets(choose_data_folder(self._conditions.data))
        return {name: target.title for name, target in targets.items()}
