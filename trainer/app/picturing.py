"""All thresholds as one picture: for `evenhand progress --picture`."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from trainer.app.world import Conditions, list_known_drills, open_store
from trainer.errors import BadValue
from trainer.exercise.drill import Drill
from trainer.exercise.history import Standing, StoredTrial, find_standing
from trainer.files.sound_writing import refuse_overwriting
from trainer.files.svg import write_svg
from trainer.files.whole_file import write_whole
from trainer.session.figure import Figure
from trainer.session.progress_place_charts import draw_sheet
from trainer.session.progress_place_facts import MUSIC, list_practised

ENDINGS = (".svg", ".png")
WIDTH = 760.0


def write_picture(conditions: Conditions, file: str, force: bool) -> str:
    """Write all thresholds as a picture, under every set-up and kind of music; of one set-up, if one was named.

    Raises
    ------
    BadValue
        If there are none, the file's ending is another one, or it cannot be written.
    """
    path = Path(file)
    if path.suffix.lower() not in ENDINGS:
        raise BadValue("progress", "--picture", file, f"a name that ends in {' or '.join(ENDINGS)}")
    refuse_overwriting([path], force)
    with open_store(conditions) as store:
        trials = tuple(trial for trial in store.list_trials() if conditions.setup in (None, trial.setup))
    figure = _draw(trials, tuple(list_known_drills(conditions).values()), date.today())
    try:
        with write_whole(path) as beside:
            _write(figure, path.suffix.lower(), beside)
    except OSError as error:
        raise BadValue("progress", "--picture", path, f"a place that can be written ({error.strerror})") from None
    return f"Written to {path}."


def _write(figure: Figure, ending: str, place: Path) -> None:
    """Write a figure in the form that an ending names."""
    if ending == ".png":
        from trainer.ui.picture import save_figure

        save_figure(figure, "paper", place)
    else:
        place.write_text(write_svg(figure, "paper"), encoding="utf-8")


def _draw(trials: Sequence[StoredTrial], drills: Sequence[Drill], today: date) -> Figure:
    """Draw a block for each pair of conditions."""
    blocks = []
    for setup, audio in dict.fromkeys((trial.setup, trial.audio_class) for trial in trials):
        stood = _stand(trials, drills, setup, audio, today)
        blocks += [(f"{setup}, {MUSIC.get(audio, audio)}", stood)] if stood else []
    if not blocks:
        raise BadValue("progress", "history", "no thresholds", "answers first; `evenhand drill --text` begins")
    return draw_sheet(f"What the ear can tell, {today.isoformat()}", blocks, WIDTH)


def _stand(
    trials: Sequence[StoredTrial], drills: Sequence[Drill], setup: str, audio: str, today: date
) -> tuple[Standing, ...]:
    """Work out where the ear stands in all skills that were practised under a pair of conditions."""
    practised = list_practised(drills, trials, setup, audio)
    return tuple(find_standing(drill, trials, setup, audio, today.toordinal()) for drill in practised)
