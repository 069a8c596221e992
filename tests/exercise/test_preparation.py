"""Every drill is fair on the bundled music: what is asked is what is measured, and only that differs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from pyebur128 import MeasurementMode, R128State, get_loudness_global, get_true_peak

from trainer.audio.clip import Clip
from trainer.dsp.moves import list_moves_with
from trainer.errors import BadValue, NotReachable
from trainer.exercise.drill import Drill
from trainer.exercise.preparation import prepare_trial
from trainer.exercise.song import Song, SongEntry
from trainer.exercise.songbook import SongBook
from trainer.exercise.trial import PreparedTrial, TrialSpec
from trainer.files.coding import ChildCoder
from trainer.workshop.bench import Bench

NAMES = ("high_shelf_8k", "limiting")


def read_with_libebur128(sound: np.ndarray, rate_hz: int) -> tuple[float, float]:
    """Read a loop's loudness over several rounds, and its true peak, with libebur128."""
    rounds = np.ascontiguousarray(np.tile(sound, (5, 1)), dtype=np.float64)
    state = R128State(2, rate_hz, MeasurementMode.MODE_I | MeasurementMode.MODE_TRUE_PEAK)
    state.add_frames(rounds.ravel(), rounds.shape[0])
    peak = max(get_true_peak(state, channel) for channel in range(2))
    return float(get_loudness_global(state)), float(20 * np.log10(peak))


@pytest.fixture(scope="module", params=[(name, kind) for name in NAMES for kind in ("low", "start", "high")])
def trial(request: pytest.FixtureRequest, bench: Bench, drills: dict[str, Drill]) -> PreparedTrial:
    """Make a trial at the drill's least, starting and largest amount."""
    name, kind = request.param
    amount = getattr(drills[name].amount, kind)
    return bench.make(TrialSpec(drills[name], seed=11, index=2, amount=amount))


def test_versions_are_equally_loud_and_below_the_ceiling_on_libebur128(trial: PreparedTrial) -> None:
    """Independent meter: libebur128 through pyebur128, read round the loop. Limits: 0.05 LU, −1 dBTP."""
    readings = [read_with_libebur128(sound, trial.rate_hz) for sound in trial.sounds[:-1]]
    loudness = [loud for loud, _ in readings]
    assert max(loudness) - min(loudness) < 0.05
    assert max(peak for _, peak in readings) <= -1.0
    assert trial.spread_lu <= 0.01
    for version, (loud, _) in zip(trial.versions, readings, strict=True):
        assert version.loudness_lufs == pytest.approx(loud, abs=0.02)


def test_the_effect_is_what_was_asked(trial: PreparedTrial) -> None:
    """The house's limit for a receipt: 0.1 dB, or for a large limiting 0.15 dB, read from the sound."""
    assert trial.effect.amount == pytest.approx(trial.spec.amount, abs=0.1)


def test_unprocessed_versions_are_one_sound_and_the_processed_one_differs(trial: PreparedTrial) -> None:
    """Sample by sample."""
    plain = [sound for sound, v in zip(trial.sounds, trial.versions, strict=False) if not v.processed]
    processed = [sound for sound, v in zip(trial.sounds, trial.versions, strict=False) if v.processed]
    assert len(plain) == 2 and len(processed) == 1
    assert np.array_equal(plain[0], plain[1])
    assert not np.array_equal(plain[0], processed[0])
    assert trial.versions[int(trial.right_answer) - 1].processed


def test_versions_are_aligned_to_the_sample(trial: PreparedTrial) -> None:
    """The cross-correlation below 2 kHz peaks where the move's own phase says, and nowhere else.

    A limiter turns no phase: lag 0. A minimum-phase shelf of gain A**2 at a corner w moves what lies far below by
    2 zeta (1/w_pole - 1/w_zero), with zeta = 1/sqrt(2), w_pole = w sqrt(A), w_zero = w / sqrt(A) (closed form of
    the prototype in the W3C Audio EQ Cookbook).
    """
    plain = next(s for s, v in zip(trial.sounds, trial.versions, strict=False) if not v.processed)[:, 0]
    processed = next(s for s, v in zip(trial.sounds, trial.versions, strict=False) if v.processed)[:, 0]
    low = np.fft.rfftfreq(plain.size, 1 / trial.rate_hz) < 2000
    cross = np.fft.irfft(low * np.fft.rfft(processed) * np.conj(np.fft.rfft(plain)))
    expected = 0.0
    if trial.spec.drill.move == "high_shelf":
        root, corner = 10 ** (trial.spec.amount / 80), 2 * np.pi * 8000
        expected = np.sqrt(2) * (1 / (corner * root) - root / corner) * trial.rate_hz
    lag = (int(cross.argmax()) + plain.size // 2) % plain.size - plain.size // 2
    assert lag == round(expected)


def test_the_shelf_is_there_in_the_sound(bench: Bench, drills: dict[str, Drill]) -> None:
    """A shelf with S = 1 has half of its gain in dB at the corner (W3C Audio EQ Cookbook), and all of it above.

    The gain is read here by its own means: narrow bands of the two loops' spectra.
    """
    trial = bench.make(TrialSpec(drills["high_shelf_8k"], 5, 0, 6.0))
    plain = next(s for s, v in zip(trial.sounds, trial.versions, strict=False) if not v.processed)
    processed = next(s for s, v in zip(trial.sounds, trial.versions, strict=False) if v.processed)
    frequencies = np.fft.rfftfreq(plain.shape[0], 1 / trial.rate_hz)

    def gain_db(low_hz: float, high_hz: float) -> float:
        band = (frequencies >= low_hz) & (frequencies < high_hz)
        power = [float((np.abs(np.fft.rfft(x.astype(float), axis=0))[band] ** 2).sum()) for x in (processed, plain)]
        return 10 * np.log10(power[0] / power[1])

    floor = gain_db(100, 1000)
    assert gain_db(7950, 8050) - floor == pytest.approx(3.0, abs=0.06)
    assert gain_db(19800, 20200) - floor == pytest.approx(5.87, abs=0.1)  # the prototype at 2.5 corners


def test_a_trial_comes_out_the_same_again(bench: Bench, drills: dict[str, Drill]) -> None:
    """Drill, seed, index, amount and sound reproduce a trial, sample for sample."""
    spec = TrialSpec(drills["limiting"], 99, 7, 5.5)
    first, second = bench.make(spec), prepare_trial(bench.songs(), spec)
    assert np.array_equal(first.sounds, second.sounds)
    assert first.right_answer == second.right_answer and first.excerpt == second.excerpt


def test_the_hidden_version_is_spread_evenly(bench: Bench, drills: dict[str, Drill]) -> None:
    """Each place about a third of the time: chi-squared with 2 degrees of freedom below its 99.9 % point, 13.8."""
    from trainer.exercise.forms import FORMS
    from trainer.exercise.preparation import _generators

    form = FORMS["pick_of_three"]
    counts = np.zeros(3)
    for index in range(600):
        _, _, rng = _generators(TrialSpec(drills["high_shelf_8k"], 3, index, 1.0))
        counts[int(form.lay_out(drills["high_shelf_8k"], 1.0, rng).right_answer) - 1] += 1
    assert ((counts - 200) ** 2 / 200).sum() < 13.8


@pytest.mark.parametrize("name", NAMES)
def test_an_ideal_listener_is_always_right_and_a_guessing_one_is_not(
    name: str, bench: Bench, drills: dict[str, Drill]
) -> None:
    """An ideal listener picks the version that differs most from the two others, from the sound alone."""
    right = 0
    for index in range(6):
        trial = bench.make(TrialSpec(drills[name], 21, index, drills[name].amount.low))
        sounds = trial.sounds[:-1].astype(float)
        apart = [sum(float(np.square(a - b).sum()) for b in sounds) for a in sounds]
        right += str(int(np.argmax(apart)) + 1) == trial.right_answer
    assert right == 6


def test_a_song_without_what_the_move_needs_is_refused(drills: dict[str, Drill]) -> None:
    """A song cut at 4 kHz has nothing for a shelf at 8 kHz; a steady tone has no hits for a limiter."""
    rate, time = 48000, np.arange(48000 * 10) / 48000
    tone = np.repeat((0.2 * np.sin(2 * np.pi * 300 * time))[:, None], 2, axis=1).astype(np.float32)
    song = Song(SongEntry("tone.wav", "tone", "own"), Clip(tone, rate), "0", rate)
    for name, quantity in (("high_shelf_8k", "level_above_corner_db"), ("limiting", "hits_per_s")):
        with pytest.raises(BadValue, match=f"tone: {quantity}="):
            prepare_trial([song], TrialSpec(drills[name], 1, 0, drills[name].amount.start))


def test_what_cannot_be_reached_is_said(bench: Bench, drills: dict[str, Drill]) -> None:
    """More reduction than 24 dB of drive can give is refused with the most that can be had."""
    drill = drills["limiting"]
    far = replace(drill, amount=replace(drill.amount, high=60.0))
    with pytest.raises(NotReachable, match=r"limiter: amount=55, expected at most \d+\.\d dB"):
        bench.make(TrialSpec(far, 1, 0, 55.0))


def test_the_excerpts_hold_what_the_move_needs(bench: Bench, book: SongBook, drills: dict[str, Drill]) -> None:
    """Two of the bundled songs or more have a place for each drill; loops lie on bars, endings at the end."""
    moves = list_moves_with(ChildCoder())
    for drill in drills.values():
        fitting = 0
        for song in bench.songs():
            try:
                found = [book.list_loops(song, moves[name], settings) for name, settings in drill.moves]
            except BadValue:
                continue
            fitting += 1
            bars = song.entry.bars
            assert bars is not None
            for candidate in found[0]:
                place = (candidate.start_frame / song.clip.rate_hz - bars.first_s) / bars.length_s
                on_bar = abs(place - round(place)) < 1e-3
                left_s = (song.clip.frames - candidate.start_frame - candidate.frames) / song.clip.rate_hz
                assert 0 <= left_s < 8 if moves[drill.move].at_ending else on_bar
        assert fitting >= 2, drill.drill


@pytest.mark.parametrize("name", NAMES)
def test_two_db_are_plain_in_the_programme_itself(name: str, bench: Bench, drills: dict[str, Drill]) -> None:
    """On at least two places of the bundled music 2 dB of the move are measured clearly."""
    trials = [bench.make(TrialSpec(drills[name], seed, 0, 2.0)) for seed in range(4)]
    assert len({trial.excerpt for trial in trials}) >= 2
    for trial in trials:
        assert trial.effect.amount == pytest.approx(2.0, abs=0.1)


@pytest.mark.parametrize("amount", [2.0, 9.0])
def test_the_question_about_drums_is_true_of_the_clip(amount: float, bench: Bench, drills: dict[str, Drill]) -> None:
    """ "Which one has flatter drums?": on every place that is drawn, the loudest hits stand less above the song."""
    for seed in range(4):
        measured = bench.make(TrialSpec(drills["limiting"], seed, 0, amount)).effect.measured
        assert measured["hits_over_song_before_db"] - measured["hits_over_song_after_db"] > 0.3 * amount
