"""Adapters built and put together for one session."""

from __future__ import annotations

import secrets
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.app.conditions import Conditions as Conditions
from trainer.app.equipment import HomeEquipment
from trainer.app.work import make_work
from trainer.dsp.moves import list_moves_with
from trainer.exercise.drill import Drill
from trainer.exercise.song import SongEntry
from trainer.files.coding import ChildCoder
from trainer.files.folders import choose_data_folder
from trainer.files.library import find_drill, list_demo_songs, list_drills
from trainer.files.notebook import RoundFile
from trainer.files.paths import Paths
from trainer.files.projects import ProjectFolder
from trainer.files.sound_reading import describe_own_song, read_song
from trainer.playback.chain import open_player
from trainer.playback.process import prepare_process
from trainer.ports import Workshop
from trainer.session.world import World
from trainer.store.history import SqliteStore
from trainer.workshop.bench import Bench
from trainer.workshop.desk import InlineWorker, ProcessWorker
from trainer.workshop.inline import InlineWorkshop
from trainer.workshop.process import ProcessWorkshop

if TYPE_CHECKING:
    from trainer.decisions.sheet import Sheet
    from trainer.decisions.target import Target

DEFAULT_RATE_HZ = 48000
SEED_BITS = 31


class SystemClock:
    """The computer's clock."""

    def now(self) -> datetime:
        """Tell the local time of day."""
        return datetime.now().astimezone()

    def monotonic_s(self) -> float:
        """Tell seconds that never run backwards."""
        return time.monotonic()


@dataclass(frozen=True)
class DrillWish:
    """What `evenhand drill` was asked for; None stands for what is usual."""

    drill: str | None = None
    audio: str | None = None
    trials: int | None = None
    seed: int | None = None
    silent: bool = False


@contextmanager
def build_world(conditions: Conditions, wish: DrillWish, in_process: bool) -> Iterator[World]:
    """Build everything a session works with, and take it down again."""
    folder = conditions.folder
    drills = list_drills(folder)
    if wish.drill is not None:
        find_drill(drills, wish.drill)
    entries, rate_hz = choose_songs(wish.audio)
    store = SqliteStore(folder)
    workshop = make_workshop(entries, in_process)
    worker = InlineWorker(make_work(conditions)) if in_process else ProcessWorker(partial(make_work, conditions))
    prepare_process()
    player = open_player(rate_hz, silent=wish.silent)
    try:
        yield World(
            drills=drills,
            player=player,
            store=store,
            clock=SystemClock(),
            workshop=workshop,
            worker=worker,
            files=Paths(),
            notebook=RoundFile(folder),
            projects=ProjectFolder(folder, _write_page),
            equipment=HomeEquipment(folder, store),
            setup=conditions.setup or "",
            audio_class=entries[0].audio_class,
            song_title=entries[0].title if wish.audio else "",
            choose_seed=lambda: secrets.randbits(SEED_BITS) if wish.seed is None else wish.seed,
            trials=wish.trials,
        )
    finally:
        player.close()
        workshop.close()
        worker.close()
        store.close()


def _write_page(path: Path, sheet: Sheet, targets: dict[str, Target]) -> None:
    """Write a sheet's page, by what is read only when a sheet is written."""
    from trainer.files.sheet_page import write_sheet_page

    write_sheet_page(path, sheet, targets)


def open_store(conditions: Conditions) -> closing[SqliteStore]:
    """Open the history in the data folder, for a `with` that closes it."""
    return closing(SqliteStore(conditions.folder))


def choose_songs(audio: str | None) -> tuple[tuple[SongEntry, ...], int]:
    """Choose the person's own song, after reading it through once, or the bundled ones; and the rate of work."""
    if audio is None:
        return list_demo_songs(), DEFAULT_RATE_HZ
    entry = describe_own_song(audio)
    return (entry,), read_song(entry).clip.rate_hz


def make_workshop(entries: tuple[SongEntry, ...], in_process: bool) -> Workshop:
    """Make a workshop: in this process for the terminal, in its own for the window."""
    if in_process:
        return InlineWorkshop(make_bench(entries))
    return ProcessWorkshop(entries, read_song, list_moves_with(ChildCoder()))


def make_bench(entries: tuple[SongEntry, ...]) -> Bench:
    """Make a bench with every move, coding too."""
    return Bench(entries, read_song, list_moves_with(ChildCoder()))


def list_known_drills(conditions: Conditions) -> dict[str, Drill]:
    """List the drills there are."""
    return list_drills(choose_data_folder(conditions.data))
