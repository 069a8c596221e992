"""What there is, and how far the ear has come: for `evenhand list` and `evenhand progress`."""

from __future__ import annotations

import csv
import io
from datetime import date
from pathlib import Path
from typing import Any

from trainer.app.world import Conditions, list_known_drills, open_store
from trainer.dsp.moves import MOVES
from trainer.errors import BadValue
from trainer.exercise.forms import FORMS
from trainer.exercise.history import StoredTrial
from trainer.files.folders import choose_data_folder
from trainer.files.sound_writing import refuse_overwriting
from trainer.files.target_reading import list_targets
from trainer.files.whole_file import write_whole
from trainer.session.progress import DAY_COLUMNS, list_days, summarise_progress


def list_things(conditions: Conditions, thing: str) -> list[dict[str, Any]]:
    """List drills, moves, forms, skills or delivery targets as plain facts."""
    if thing == "targets":
        return list_target_facts(conditions)
    drills = list_known_drills(conditions).values()
    if thing == "drills":
        return [
            {
                "drill": drill.drill,
                "title": drill.title,
                "form": drill.form,
                "move": drill.move,
                "skill": drill.skill,
                "unit": drill.amount.unit,
                "low": drill.amount.low,
                "high": drill.amount.high,
            }
            for drill in drills
        ]
    if thing == "moves":
        return [
            {"move": m.name, "title": m.title, "unit": m.unit, "parameters": [vars(p) for p in m.parameters]}
            for m in MOVES.values()
        ]
    if thing == "forms":
        return [{"form": form.name, "title": form.title} for form in FORMS.values()]
    skills = {drill.skill: drill.amount.unit for drill in drills}
    return [{"skill": skill, "unit": unit} for skill, unit in skills.items()]


def list_target_facts(conditions: Conditions) -> list[dict[str, Any]]:
    """List delivery targets with their rules."""
    targets = list_targets(choose_data_folder(conditions.data))
    return [
        {
            "target": target.target,
            "title": target.title,
            "about": target.about,
            "rules": [
                {
                    "rule": rule.rule,
                    rule.way: list(rule.limit) if isinstance(rule.limit, tuple) else rule.limit,
                    "unit": rule.unit,
                    "miss": rule.miss,
                    "status": rule.status,
                    "source": rule.source,
                    "date": rule.date,
                }
                for rule in target.rules
            ],
        }
        for target in targets.values()
    ]


def word_things(things: list[dict[str, Any]]) -> list[str]:
    """Word a list: a line to a thing, its name first, bounds as a range."""
    if things and "low" in things[0]:
        return [f"{d['drill']:20s} {d['title']} · {d['low']:g}–{d['high']:g} {d['unit']} · {d['form']}" for d in things]
    lines = []
    for thing in things:
        name, *rest = [str(value) for value in thing.values() if not isinstance(value, list)]
        lines.append(f"{name:20s} {' · '.join(rest)}")
    return lines


def read_progress(conditions: Conditions) -> dict[str, list[dict[str, Any]]]:
    """Summarise the history in the data folder; of one set-up, if one was named."""
    return summarise_progress(_read_trials(conditions), list_known_drills(conditions), date.today().toordinal())


def write_days(conditions: Conditions, file: str, force: bool) -> None:
    """Write a table with a line for every skill, set-up, class of music and day of practice."""
    path = Path(file)
    refuse_overwriting([path], force)
    rows = list_days(_read_trials(conditions), list_known_drills(conditions))
    text = io.StringIO()
    table = csv.DictWriter(text, DAY_COLUMNS, lineterminator="\n")
    table.writeheader()
    table.writerows(rows)
    try:
        with write_whole(path) as beside:
            beside.write_text(text.getvalue(), encoding="utf-8")
    except OSError as error:
        raise BadValue("progress", "--csv", path, f"a place that can be written ({error.strerror})") from None


def _read_trials(conditions: Conditions) -> tuple[StoredTrial, ...]:
    with open_store(conditions) as store:
        return tuple(t for t in store.list_trials() if conditions.setup in (None, t.setup))
