"""Trials without sound, laid out as the program lays them out, with effects that are just as asked."""

from __future__ import annotations

import zlib
from dataclasses import dataclass, replace

import numpy as np

from trainer.dsp.move import Effect, Picture
from trainer.exercise.forms import FORMS
from trainer.exercise.forms.demonstration import lay_out_demonstration
from trainer.exercise.forms.form import Layout, Take, Turn
from trainer.exercise.forms.marking import Mark, write_marks
from trainer.exercise.forms.releases import BACK, ROUGH
from trainer.exercise.song import AudioClass, SongEntry
from trainer.exercise.trial import Excerpt, PreparedTrial, TrialSpec, Version

FRAMES = 16
RATE_HZ = 48000
PASS_S = 30.0


@dataclass
class SoundlessWorkshop:
    """Lay trials out at once."""

    audio_class: AudioClass = "demo"
    _open: TrialSpec | None = None

    def open(self) -> None:
        """Get ready: nothing is needed."""

    def submit(self, spec: TrialSpec) -> None:
        """Take a wish."""
        self._open = spec

    def collect(self) -> PreparedTrial | None:
        """Give the trial."""
        spec, self._open = self._open, None
        return None if spec is None else make_trial(spec, self.audio_class)

    def close(self) -> None:
        """Let go."""
        self._open = None


def make_trial(spec: TrialSpec, audio_class: AudioClass) -> PreparedTrial:
    """Lay a trial out."""
    rng = np.random.default_rng([spec.seed, zlib.crc32(spec.drill.drill.encode()), spec.index])
    layout = _lay_out(spec, rng)
    versions = tuple(_make_version(number, take) for number, take in enumerate(layout.takes, 1))
    layout = layout if spec.demonstration else FORMS[spec.drill.form].settle(layout, [v.effect for v in versions])
    if versions[layout.target].effect is None:
        layout = replace(layout, target=next(n for n, v in enumerate(versions) if v.effect is not None))
    return PreparedTrial(
        spec=spec,
        song=SongEntry("/songs/harbour.flac", "Harbour", audio_class),
        sha256="0" * 64,
        excerpt=Excerpt(41.0, 49.0, "Harbour, chorus 1, four bars"),
        rate_hz=RATE_HZ,
        sounds=np.zeros((len(versions) + 1, FRAMES, 2), dtype=np.float32),
        versions=versions,
        layout=layout,
        effect_name="gain_db",
        change_db=-20.0,
        outline=(0.5,) * 20,
    )


def _lay_out(spec: TrialSpec, rng: np.random.Generator) -> Layout:
    """Lay out as the form has it; a pass gets one to three faults."""
    if spec.demonstration:
        return lay_out_demonstration(spec.drill, spec.amount)
    layout = FORMS[spec.drill.form].lay_out(spec.drill, spec.amount, rng, Turn(spec.seed, spec.index))
    if FORMS[spec.drill.form].answer_kind != "marks":
        return layout
    places = np.sort(rng.choice(np.arange(2, 28, 4), size=int(rng.integers(1, 4)), replace=False))
    faults = write_marks([Mark(float(place), str(rng.choice(layout.answers))) for place in places])
    return replace(layout, right_answer=f"{PASS_S:.2f} | {faults}")


def _make_version(number: int, take: Take) -> Version:
    """Say of a version what was asked of it, as if it had been measured."""
    asked = {"gain_db": take.amount} if take.processed else {}
    release_ms = take.settings.get("release_ms", 100.0)
    measured = {**asked, BACK: 95.0 if release_ms < 500 else 40.0, ROUGH: -20.0 if release_ms < 100 else -40.0}
    picture = Picture("reduction", tuple((k / 10, 1.0) for k in range(20)))
    effect = Effect(take.amount, measured, picture, ("A sentence about this clip.",)) if take.processed else None
    return Version(number, take, asked, effect, 0.0, -18.4, -3.2)
