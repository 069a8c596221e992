"""A pass through part of a song with faults at new places: heard from start to end, and marked."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from trainer.audio.clip import Clip
from trainer.audio.loops import outline_loop
from trainer.dsp.difference import make_difference
from trainer.dsp.faults.click import plant_click
from trainer.dsp.faults.dropout import plant_dropout
from trainer.dsp.faults.fault import draw_change
from trainer.dsp.faults.places import find_uncovered
from trainer.dsp.faults.planted import Planted
from trainer.dsp.faults.pop import plant_pop
from trainer.dsp.matching import level_loops
from trainer.dsp.move import Effect
from trainer.errors import BadValue
from trainer.exercise.forms.form import Layout, Take
from trainer.exercise.forms.marking import Mark, write_marks
from trainer.exercise.song import Song
from trainer.exercise.trial import Excerpt, PreparedTrial, TrialSpec, Version
from trainer.units import write_number, write_time

PASS_S = 30.0
MOST_FAULTS = 3
APART_S = 3.0
AWAY_FROM_ENDS_S = 1.0
OUTLINE_COLUMNS = 200
PLANTERS: Mapping[str, Callable[[Clip, float, float], Planted]] = {
    "click": plant_click,
    "pop": plant_pop,
    "dropout": plant_dropout,
}
BANDS_HZ = {"click": (4000.0, 20000.0), "pop": (0.0, 100.0), "dropout": (100.0, 8000.0)}


def prepare_pass(songs: Sequence[Song], spec: TrialSpec, layout: Layout, rng: np.random.Generator) -> PreparedTrial:
    """Make a pass. The same songs and specification give the same pass, sample for sample.

    Parameters
    ----------
    songs : sequence of Song
        One or more; by lot one of those that are long enough.
    spec : TrialSpec
        What is wanted; its amount is the strength of the faults.
    layout : Layout
        As the form has laid it out.
    rng : numpy.random.Generator
        Decides song, stretch, number, kinds and places.

    Returns
    -------
    PreparedTrial
        One version; behind it only the faults.

    Raises
    ------
    BadValue
        If a kind cannot be planted, or no song is long enough.
    """
    kinds = _list_kinds(spec)
    song, first = _choose_stretch(songs, rng)
    rate = song.clip.rate_hz
    clean = song.clip.with_samples(song.clip.samples[first : first + int(PASS_S * rate)])
    planted = _plant(clean, kinds, spec.amount, rng)
    faulty = planted[-1].clip if planted else clean
    before, after = level_loops((clean, faulty))
    change = make_difference(before.loop, after.loop, linear=False)
    marks = [Mark(fault.place_s, fault.fault) for fault in planted]
    in_time = sorted(planted, key=lambda fault: fault.place_s)
    sentences = tuple(_tell_fault(fault) for fault in in_time) or ("Nothing was put into this pass.",)
    figure = draw_change(before.loop, change.loop.samples.astype(np.float64))
    effect = Effect(spec.amount, {"faults_planted": float(len(planted))}, figure, sentences)
    start_s = first / rate
    return PreparedTrial(
        spec=spec,
        song=song.entry,
        sha256=song.sha256,
        excerpt=Excerpt(start_s, start_s + PASS_S, f"{song.entry.title}, from {write_time(start_s)}"),
        rate_hz=rate,
        sounds=np.stack([after.loop.samples, change.loop.samples]),
        versions=(Version(1, layout.takes[0], {}, effect, after.gain_db, after.loudness_lufs, after.true_peak_dbtp),),
        layout=replace(layout, right_answer=f"{PASS_S:.2f} | {write_marks(marks)}"),
        effect_name="faults_planted",
        change_db=change.level_db,
        outline=outline_loop(before.loop.samples, OUTLINE_COLUMNS),
    )


def _list_kinds(spec: TrialSpec) -> tuple[Take, ...]:
    """List the faults that may come, each with its share of the amount."""
    drill = spec.drill
    takes = tuple(Take(choice.move, choice.share * spec.amount) for choice in drill.choices) or (
        Take(drill.move, spec.amount),
    )
    for take in takes:
        if take.move not in PLANTERS:
            raise BadValue(drill.drill, "move", take.move, f"a fault with a moment: {', '.join(PLANTERS)}")
    return takes


def _choose_stretch(songs: Sequence[Song], rng: np.random.Generator) -> tuple[Song, int]:
    """Choose a song that is long enough, and where the pass begins in it, frames."""
    for number in rng.permutation(len(songs)):
        song = songs[int(number)]
        spare_s = song.clip.duration_s - PASS_S
        if spare_s >= 0:
            return song, int(rng.uniform(0.0, spare_s) * song.clip.rate_hz)
    raise BadValue("songs", "duration_s", "too short", f"a song of {PASS_S:g} s or more")


def _plant(clean: Clip, kinds: tuple[Take, ...], amount: float, rng: np.random.Generator) -> list[Planted]:
    """Plant none to three faults, apart from each other, where little covers them."""
    planted: list[Planted] = []
    taken: list[float] = []
    for _ in range(int(rng.integers(MOST_FAULTS + 1))):
        take = kinds[int(rng.integers(len(kinds)))]
        assert take.move is not None
        free = [
            place
            for place in find_uncovered(clean, BANDS_HZ[take.move])
            if AWAY_FROM_ENDS_S < place < PASS_S - AWAY_FROM_ENDS_S - APART_S / 2
            and all(abs(place - other) > APART_S for other in taken)
        ]
        if not free:
            continue
        taken.append(free[int(rng.integers(len(free)))])
        planted.append(PLANTERS[take.move](planted[-1].clip if planted else clean, taken[-1], take.amount))
    return sorted(planted[:-1], key=lambda fault: fault.place_s) + planted[-1:]


def _tell_fault(fault: Planted) -> str:
    return f"A {fault.fault} at {write_number(fault.place_s)} s: {write_number(fault.strength)} {fault.unit}."
