"""Every example view by name."""

from __future__ import annotations

from dataclasses import replace

from tests.ui import sample_pages, sample_views
from trainer.session.pages import View


def all_views() -> dict[str, View]:
    """Give every state by name."""
    return {
        "today": sample_views.today(),
        "today-first": sample_views.first_day(),
        "today-no-sound": sample_views.restyle(sample_views.today(), notice=sample_views.NO_SOUND),
        "today-places": replace(sample_views.today(), frame=sample_pages.place_frame("today")),
        "demonstration": sample_views.demonstration(),
        "trial": sample_views.trial(),
        "trial-paused": sample_views.trial(2, 1, False),
        "trial-eight": sample_views.trial(8, 5),
        "trial-naming": sample_views.naming(),
        "reveal": sample_views.reveal(),
        "reveal-wrong": sample_views.reveal(False),
        "reveal-receipt": sample_views.reveal(True, True),
        "reveal-eight": sample_views.limiting(),
        "end": sample_views.end(),
        "cautions": sample_views.cautions(),
        "waiting": sample_views.waiting(),
        "problem": sample_views.problem(),
        "trial-keys": sample_views.restyle(sample_views.trial(), keys_open=True),
        "trial-no-sound": sample_views.restyle(sample_views.trial(), notice=sample_views.NO_SOUND),
        **sample_pages.all_pages(),
    }
