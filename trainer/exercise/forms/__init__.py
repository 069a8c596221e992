"""Forms of question behind one Protocol and one dict."""

from __future__ import annotations

from trainer.exercise.forms.amounts import HowMuch, MatchByEar
from trainer.exercise.forms.form import Form
from trainer.exercise.forms.lesson import Lesson
from trainer.exercise.forms.marking import MarkTheMoment
from trainer.exercise.forms.naming import NameIt
from trainer.exercise.forms.ordering import PutInOrder
from trainer.exercise.forms.picking import Abx, Oddity, Pick
from trainer.exercise.forms.preferring import LouderOrBetter, Prefer
from trainer.exercise.forms.referring import AgainstReference
from trainer.exercise.forms.releases import SetRelease

FORMS: dict[str, Form] = {
    form.name: form
    for form in (
        Pick("pick_of_three", "Pick the one of three", 3),
        Pick("pick_of_two", "Pick the one of two", 2),
        Oddity(),
        Abx(),
        NameIt(),
        AgainstReference(),
        HowMuch(),
        MatchByEar(),
        PutInOrder(),
        MarkTheMoment(),
        SetRelease(),
        LouderOrBetter(),
        Prefer(),
        Lesson(),
    )
}
