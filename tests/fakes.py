"""Stand-ins for the world: a player that only remembers, a clock that is set, a store in memory."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta, timezone

import numpy as np

from trainer.decisions.rounds import Round
from trainer.decisions.sheet import Sheet
from trainer.decisions.target import Rule, Target
from trainer.dsp.move import Effect, Picture
from trainer.errors import EvenhandError
from trainer.exercise.drill import Drill
from trainer.exercise.forms.form import AS_IT_IS, Layout, Take
from trainer.exercise.history import StoredTrial
from trainer.exercise.song import SongEntry
from trainer.exercise.trial import Excerpt, PreparedTrial, TrialSpec, Version
from trainer.ports import UNCHANGED, FileKind, Finished, Monitoring, Output, Playhead, Samples, Stage
from trainer.session.world import World

FRAMES = 480


@dataclass
class FakePlayer:
    """Remember what was asked; `gaps` can be set to misbehave."""

    output: Output = field(default_factory=lambda: Output("sdl", "test output", 48000, 0.1))
    gaps: int = 0
    loaded: list[int] = field(default_factory=list)
    selected: int = 0
    playing: bool = False
    closed: bool = False
    frame: int = 120
    sounds: Samples | None = None
    how: Monitoring = UNCHANGED
    notes: list[tuple[float, ...]] = field(default_factory=list)

    def load(self, versions: Samples, rate_hz: int) -> None:
        self.loaded.append(versions.shape[0])
        self.sounds = versions
        self.selected, self.playing, self.how = 0, False, UNCHANGED

    def play(self) -> None:
        self.playing = True

    def pause(self) -> None:
        self.playing = False

    def select(self, version: int) -> None:
        self.selected = version

    def hear(self, how: Monitoring) -> None:
        self.how = how

    def sound_notes(self, notes_hz: Sequence[float]) -> None:
        self.notes.append(tuple(notes_hz))

    def position(self) -> Playhead:
        return Playhead(self.frame, self.selected, self.playing)

    def take_interruptions(self) -> int:
        gaps, self.gaps = self.gaps, 0
        return gaps

    def close(self) -> None:
        self.closed = True


@dataclass
class FakeClock:
    """A clock that moves when it is told to."""

    time: datetime = datetime(2031, 5, 7, 20, 0, tzinfo=timezone.utc)
    running_s: float = 100.0

    def now(self) -> datetime:
        return self.time

    def monotonic_s(self) -> float:
        return self.running_s

    def pass_time(self, seconds: float) -> None:
        self.time += timedelta(seconds=seconds)
        self.running_s += seconds


@dataclass
class MemoryStore:
    """Keep in memory."""

    trials: list[StoredTrial] = field(default_factory=list)
    settings: dict[str, str] = field(default_factory=dict)

    def keep(self, trial: StoredTrial) -> None:
        self.trials.append(trial)

    def list_trials(self) -> tuple[StoredTrial, ...]:
        return tuple(self.trials)

    def find_trial(self, trial: str) -> StoredTrial | None:
        return next((item for item in self.trials if item.trial == trial), None)

    def read_setting(self, name: str, default: str) -> str:
        return self.settings.get(name, default)

    def write_setting(self, name: str, value: str) -> None:
        self.settings[name] = value


@dataclass
class FakeWorkshop:
    """Make trials of silence at once, or hold them back, or fail, as it is set."""

    right: int = 2
    held_back: bool = False
    failure: str = ""
    wanted: list[TrialSpec] = field(default_factory=list)
    _open: TrialSpec | None = None

    def open(self) -> None:
        """Get ready: nothing is needed."""

    def submit(self, spec: TrialSpec) -> None:
        self.wanted.append(spec)
        self._open = spec

    def collect(self) -> PreparedTrial | None:
        if self._open is None or self.held_back:
            return None
        spec, self._open = self._open, None
        if self.failure:
            raise EvenhandError(self.failure)
        return make_trial(spec, self.right)

    def close(self) -> None:
        self._open = None


@dataclass
class FakeWorker:
    """Give what was put in for a job, or hold it back, or fail, as it is set."""

    results: list[object] = field(default_factory=list)
    held_back: bool = False
    failure: str = ""
    jobs: list[object] = field(default_factory=list)
    cancelled: int = 0
    _open: bool = False

    def submit(self, job: object) -> None:
        self.jobs.append(job)
        self._open = True

    def collect(self) -> Stage | Finished | None:
        if not self._open:
            return None
        if self.held_back:
            return Stage(0.4, "Reading")
        self._open = False
        if self.failure:
            raise EvenhandError(self.failure)
        return Finished(self.results.pop(0))

    def cancel(self) -> None:
        self.cancelled += 1
        self._open = False

    def close(self) -> None:
        self._open = False


@dataclass
class FakeFiles:
    """Know a few paths."""

    known: tuple[str, ...] = ()

    def complete(self, typed: str, kind: FileKind = "sound") -> tuple[str, ...]:
        return tuple(path for path in self.known if path.startswith(typed))

    def name(self, path: str) -> str:
        return path.rsplit("/", 1)[-1]

    def read_hash(self, path: str) -> str:
        return hashlib.sha256(path.encode()).hexdigest()

    def make_whole(self, path: str) -> str:
        return path if path.startswith("/") else f"/music/{path}"


@dataclass
class MemoryNotebook:
    """Keep rounds in memory."""

    rounds: dict[str, Round] = field(default_factory=dict)

    def keep_round(self, held: Round) -> None:
        self.rounds[held.round] = held

    def list_rounds(self, versions: Sequence[str] = ()) -> tuple[Round, ...]:
        return tuple(held for held in self.rounds.values() if not versions or set(held.versions) == set(versions))


@dataclass
class MemoryProjects:
    """Keep sheets in memory; a target to aim at."""

    sheets: dict[str, Sheet] = field(default_factory=dict)
    written: int = 0

    def list_names(self) -> tuple[str, ...]:
        return tuple(self.sheets)

    def read(self, name: str) -> Sheet:
        return self.sheets[name]

    def write(self, sheet: Sheet) -> str:
        self.sheets[sheet.project] = sheet
        self.written += 1
        return f"/projects/{sheet.project}/sheet.html"

    def find_sheet(self, name: str) -> str:
        return f"/projects/{name}/sheet.yaml"

    def list_unsettled(self) -> tuple[tuple[str, str], ...]:
        return tuple((move, name) for name, sheet in self.sheets.items() for move in sheet.list_unsettled())

    def list_targets(self) -> dict[str, Target]:
        lufs = Rule("integrated_lufs", "aim", -14.0, "LUFS", "pass", "common_practice", "test", "2031-05")
        peak = Rule("true_peak_dbtp", "most", -1.0, "dBTP", "fail", "recommendation", "test", "2031-05")
        return {"streaming": Target("streaming", "Streaming", "Played back turned down.", (lufs, peak))}


@dataclass
class FakeEquipment:
    """Describe one output, and remember which files were asked for."""

    data_folder: str = "/data"
    written: list[str] = field(default_factory=list)
    taken_in: list[str] = field(default_factory=list)
    failure: str = ""

    def describe_outputs(self) -> tuple[str, ...]:
        return ("sdl 2: test output", "silent a clock: no output")

    def export_history(self, file: str) -> str:
        if self.failure:
            raise EvenhandError(self.failure)
        self.written.append(file)
        return f"3 trials written to {file}."

    def merge_history(self, file: str) -> str:
        self.taken_in.append(file)
        return "2 trials added; 1 of 3 were there already."


def make_trial(spec: TrialSpec, right: int) -> PreparedTrial:
    """Make a trial without sound whose processed version has a given number."""
    count = 2 if spec.demonstration else 3
    right = 2 if spec.demonstration else right
    take = Take(spec.drill.move, spec.amount, spec.drill.settings)
    takes = tuple(take if number == right else AS_IT_IS for number in range(1, count + 1))
    numbers = tuple(str(number) for number in range(1, count + 1))
    layout = Layout(takes, numbers, numbers, str(right), right - 1)
    if spec.demonstration:
        layout = Layout(takes, ("as it is", "with it"), (), "", 1)
    response = Picture("response", ((100.0, -0.1), (1000.0, -0.1), (16000.0, 1.1)), ((20.0, -0.1), (20000.0, 1.2)))
    reduction = Picture("reduction", tuple((k / 100, 1.0 + k % 7) for k in range(200)))
    picture = response if spec.drill.move == "high_shelf" else reduction
    asked = {"gain_db": spec.amount}
    effect = Effect(spec.amount, {"gain_db": spec.amount}, picture, ("A sentence about this clip.",))
    versions = tuple(
        Version(n, takes[n - 1], asked if n == right else {}, effect if n == right else None, -1.0 * (n == right),
                -18.4, -3.2)
        for n in range(1, count + 1)
    )  # fmt: skip
    return PreparedTrial(
        spec=spec,
        song=SongEntry("/songs/example.flac", "Example", "demo"),
        sha256="0" * 64,
        excerpt=Excerpt(41.0, 49.0, "Example, chorus 1, four bars"),
        rate_hz=48000,
        sounds=np.zeros((count + 1, FRAMES, 2), dtype=np.float32),
        versions=versions,
        layout=layout,
        effect_name="gain_db",
        change_db=-23.0,
        outline=tuple(np.linspace(0.2, 1.0, 200).tolist()),
    )


def make_world(drills: dict[str, Drill], **changes: object) -> World:
    """Put a world of stand-ins together."""
    parts: dict[str, object] = {
        "drills": drills,
        "player": FakePlayer(),
        "store": MemoryStore(settings={"cautions_seen": "yes"}),
        "clock": FakeClock(),
        "workshop": FakeWorkshop(),
        "worker": FakeWorker(),
        "files": FakeFiles(),
        "notebook": MemoryNotebook(),
        "projects": MemoryProjects(),
        "equipment": FakeEquipment(),
        "setup": "headphones",
        "audio_class": "demo",
        "song_title": "",
        "choose_seed": lambda: 7,
    }
    return World(**(parts | changes))  # type: ignore[arg-type]
