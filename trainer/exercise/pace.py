"""How long things take: a trial of each form, a run in depth, a short look, and practice without a pause."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from trainer.exercise.drill import Drill
from trainer.exercise.forms import FORMS
from trainer.exercise.history import StoredTrial

# Seconds a trial of each form takes with its answer shown: common practice, no source.
SECONDS = {
    "pick_of_two": 9.0,
    "how_much": 15.0,
    "against_reference": 15.0,
    "match_by_ear": 20.0,
    "put_in_order": 40.0,
    "mark_the_moment": 40.0,
    "set_release": 40.0,
    "lesson": 40.0,
}
USUAL_SECONDS = 12.0
EXAMPLE_SECONDS = 15.0
# Forms whose number of trials is part of the question, or that tell nothing new on the next day.
WHOLE = ("abx", "prefer", "louder_or_better", "lesson")

DEPTH_SECONDS = 375.0
LOOK_SECONDS, SHORTEST_LOOK_SECONDS = 111.0, 75.0
WHOLE_SECONDS = 225.0
FEWEST = 3
SHORTER_SHARE = 2 / 3

# Listening tests stop after 20 to 30 minutes (ITU-R BS.1116); a pause of so many minutes begins a new stretch.
BREAK_AFTER_MINUTES = 20.0
PAUSE_MINUTES = 10.0
SHOWN_SECONDS = 4.0
LONGEST_RESPONSE_S = 120.0


def find_seconds(form: str) -> float:
    """Tell how long a trial of a form takes, s."""
    return SECONDS.get(form, USUAL_SECONDS)


def estimate_seconds(drill: Drill, trials: int) -> float:
    """Estimate how long a run takes, s, its labelled example included."""
    example = EXAMPLE_SECONDS if FORMS[drill.form].explains else 0.0
    return example + trials * find_seconds(drill.form)


def count_depth_trials(drill: Drill, shorter: bool) -> int:
    """Count the trials of a run in depth: all of the drill's that fit; two thirds of them where less will do."""
    wanted = round(drill.trials * SHORTER_SHARE) if shorter else drill.trials
    return _fit(drill, wanted, DEPTH_SECONDS)


def count_look_trials(drill: Drill, room_s: float = LOOK_SECONDS) -> int:
    """Count the trials of a short look in the room there is, s; a form that has to stay whole stays whole."""
    room_s = min(max(room_s, SHORTEST_LOOK_SECONDS), LOOK_SECONDS)
    return _fit(drill, drill.trials, WHOLE_SECONDS if drill.form in WHOLE else room_s)


def suits_depth(drill: Drill) -> bool:
    """Tell whether a drill can be practised in depth: its form may come on several days, and more than a look."""
    return drill.form not in WHOLE and count_depth_trials(drill, True) > count_look_trials(drill)


def count_as_depth(drill: Drill) -> int:
    """Count the trials on one day from which on it was practised in depth: half a run, and more than a look."""
    return max(count_look_trials(drill) + 1, (count_depth_trials(drill, True) + 1) // 2)


def measure_stretch(trials: Iterable[StoredTrial], now: datetime) -> float:
    """Measure practice up to now without a pause, minutes.

    Parameters
    ----------
    trials : iterable of StoredTrial
        In the order of their answers, of any set-up.
    now : datetime
        With its zone.

    Returns
    -------
    float
        Time spent on the questions of today since the last pause of `PAUSE_MINUTES`; 0 after one.
    """
    pause = timedelta(minutes=PAUSE_MINUTES)
    seconds, last = 0.0, now
    for trial in reversed([trial for trial in trials if trial.day == now.toordinal()]):
        answered = datetime.fromisoformat(trial.answered_at)
        spent = min(trial.response_s, LONGEST_RESPONSE_S)
        if last - answered > pause:
            break
        seconds += spent + SHOWN_SECONDS
        last = answered - timedelta(seconds=spent)
    return seconds / 60


def _fit(drill: Drill, wanted: int, seconds: float) -> int:
    """Count how many of the wanted trials fit, at least a few."""
    room = seconds - estimate_seconds(drill, 0)
    return min(wanted, max(FEWEST, int(room / find_seconds(drill.form) + 1e-9)))
