"""A listener who misses nothing: answers from the sound alone, by means that share no code with the moves."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import scipy.signal

from trainer.exercise.trial import PreparedTrial
from trainer.workshop.bench import Bench

Sound = npt.NDArray[np.float32]
# Forms that are answered by the ear alone.
HEARD = (
    *("pick_of_three", "pick_of_two", "oddity", "abx", "name_it", "match_by_ear", "put_in_order"),
    "against_reference",
)


def listen(trial: PreparedTrial, bench: Bench) -> str:
    """Answer a trial by ear.

    Parameters
    ----------
    trial : PreparedTrial
        With a form of `HEARD`.
    bench : Bench
        Makes the labelled example of the same place and amount, which this listener remembers.
    """
    form, sounds = trial.spec.drill.form, trial.sounds[:-1]
    if form in ("pick_of_three", "oddity"):
        # The odd one: its distance to both others is large.
        apart = [sum(_measure_apart(one, other) for other in sounds) for one in sounds]
        return str(int(np.argmax(apart)) + 1)
    if form == "abx":
        return str(1 + int(_measure_apart(sounds[2], sounds[1]) < _measure_apart(sounds[2], sounds[0])))
    if form == "against_reference":
        reference, *mixes = (read_octaves_db(each, trial.rate_hz) for each in sounds)
        # Only where the two differ can one be nearer than the other.
        apart = np.abs(mixes[0] - mixes[1])
        differ = apart > apart.max() / 2
        away = [float(np.mean((each - reference)[differ] ** 2)) for each in mixes]
        return str(2 + int(np.argmin(away)))
    if form == "match_by_ear":
        apart = [_measure_apart(sounds[0], each) for each in sounds[1:]]
        return f"{trial.layout.control[int(np.argmin(apart))]:g}"
    if form == "put_in_order":
        crest = [float(np.abs(each).max() / np.sqrt(np.mean(each.astype(float) ** 2))) for each in sounds]
        return " ".join(str(int(place) + 1) for place in np.argsort(crest)[::-1])
    example = bench.make(replace(trial.spec, demonstration=True)).sounds[1:-1]
    if form == "pick_of_two":
        return str(1 + int(np.argmin([_measure_apart(example[0], each) for each in sounds])))
    return trial.answers[int(np.argmin([_measure_apart(sounds[1], each) for each in example]))]


def read_octaves_db(sound: Sound, rate_hz: int) -> npt.NDArray[np.float64]:
    """Read the levels in an octave about each third octave from 50 Hz to 16 kHz by scipy's averaged periodogram."""
    at_hz, density = scipy.signal.welch(np.tile(sound.T, 2), rate_hz, nperseg=32768)
    power = density.sum(axis=0) * at_hz[1]
    centres_hz = 1000 * 10 ** (np.arange(-13, 13) / 10)
    octaves = [power[(at_hz >= f * 10**-0.15) & (at_hz < f * 10**0.15)].sum() for f in centres_hz]
    return np.asarray(10 * np.log10(octaves))


def _measure_apart(first: Sound, second: Sound) -> float:
    """Measure the power that is left between two versions at their best common level."""
    a, b = first.astype(np.float64).ravel(), second.astype(np.float64).ravel()
    gain = float(a @ b) / max(float(b @ b), 1e-30)
    return float(np.mean((a - gain * b) ** 2))
