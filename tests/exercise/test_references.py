"""A mix beside its reference: another song in the trial, equally loud, and what is right is right by measurement."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from pyebur128 import MeasurementMode, R128State, get_loudness_global
from scipy.stats import norm

from tests.exercise.ideal_listener import listen, read_octaves_db
from trainer.dsp.move import Effect
from trainer.errors import BadValue, BadValues, NotReachable
from trainer.exercise.curriculum import find_reach
from trainer.exercise.drill import Drill
from trainer.exercise.forms import FORMS
from trainer.exercise.preparation import prepare_trial
from trainer.exercise.receipt import write_trial_receipt
from trainer.exercise.references import choose_thirds, set_beside
from trainer.exercise.schema import read_drills
from trainer.exercise.song import Song
from trainer.exercise.trial import PreparedTrial, TrialSpec
from trainer.files.library import find_bundled, list_demo_songs
from trainer.files.sound_reading import read_song
from trainer.files.yaml_text import load_yaml
from trainer.listening.links import link_for
from trainer.workshop.bench import Bench

NAMES = ("reference_top", "reference_bottom")
MARGIN_DB = 0.1
MADE: dict[tuple[str, float], list[PreparedTrial]] = {}


def list_trials(bench: Bench, drill: Drill, amount: float) -> list[PreparedTrial]:
    """Make trials at a few places of both songs; once, for all tests that look at them."""
    key = (drill.drill, amount)
    if key not in MADE:
        MADE[key] = [bench.make(TrialSpec(drill, seed, 0, amount)) for seed in range(4)]
    return MADE[key]


def find_song(trial: PreparedTrial, bench: Bench) -> Song:
    """Find the song a trial is made of."""
    return next(song for song in bench.songs() if song.sha256 == trial.sha256)


def measure_away(trial: PreparedTrial, bands: tuple[tuple[float, float], ...]) -> dict[int, float]:
    """Root mean square of the octaves' differences from version 1, by number, with scipy's periodogram."""
    reference, *mixes = (read_octaves_db(sound, trial.rate_hz) for sound in trial.sounds[:-1])
    # The levels begin at the fifth of the third octaves that the program counts.
    used = choose_thirds(bands)[4:30]
    return {number: float(np.sqrt(np.mean((mix - reference)[used] ** 2))) for number, mix in enumerate(mixes, 2)}


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("kind", ["low", "high"])
def test_what_is_right_is_right_on_another_meter(name: str, kind: str, bench: Bench, drills: dict[str, Drill]) -> None:
    """Distances by scipy.signal.welch: the right one is nearer by the stated margin, both are what the receipt says.

    And the least amount is asked on both songs.
    """
    drill = drills[name]
    trials = list_trials(bench, drill, getattr(drill.amount, kind))
    assert len({trial.song.title for trial in trials}) == 2
    for trial in trials:
        move = {"high_shelf": ((5000.0, np.inf),), "low_shelf": ((0.0, 150.0),)}[drill.move]
        away = measure_away(trial, move)
        right, other = int(trial.right_answer), 5 - int(trial.right_answer)
        assert away[other] - away[right] > 0.8 * MARGIN_DB
        assert away[right] == pytest.approx(trial.effect.measured["nearer_distance_db"], abs=0.15)
        assert away[other] == pytest.approx(trial.effect.measured["further_distance_db"], abs=0.15)
        assert trial.effect.measured["further_distance_db"] - trial.effect.measured["nearer_distance_db"] >= MARGIN_DB
        assert listen(trial, bench) == trial.right_answer


@pytest.mark.parametrize("name", NAMES)
def test_all_three_are_equally_loud(name: str, bench: Bench, drills: dict[str, Drill]) -> None:
    """The reference too, within 0.01 LU by libebur128; all below −1 dBTP.

    Read over 30 rounds, as the first has no loop before it, and two songs begin differently.
    """
    for trial in list_trials(bench, drills[name], 5.0):
        readings = []
        for sound in trial.sounds[:-1]:
            rounds = np.ascontiguousarray(np.tile(sound, (30, 1)), dtype=np.float64)
            state = R128State(2, trial.rate_hz, MeasurementMode.MODE_I)
            state.add_frames(rounds.ravel(), rounds.shape[0])
            readings.append(float(get_loudness_global(state)))
        assert max(readings) - min(readings) <= 0.01
        assert max(version.true_peak_dbtp for version in trial.versions) <= -1.0


def test_version_one_is_the_reference_as_it_is(bench: Bench, drills: dict[str, Drill]) -> None:
    """But for one gain, a stretch of its file that begins on a bar: what is left lies 80 dB below."""
    for trial in list_trials(bench, drills["reference_top"], 5.0):
        song = find_song(trial, bench)
        assert song.reference is not None and song.entry.reference is not None
        bars, heard = song.entry.reference.bars, trial.sounds[0][4000:100000].astype(np.float64)
        rests = []
        for number in range(int(song.reference.duration_s / bars.length_s)):
            first = round((bars.first_s + number * bars.length_s) * trial.rate_hz) + 4000
            own = song.reference.samples[first : first + heard.shape[0]].astype(np.float64)
            if own.shape == heard.shape:
                gain = float((own * heard).sum() / (own * own).sum())
                rests.append(float(np.sqrt(np.mean((heard - gain * own) ** 2) / np.mean(heard**2))))
        assert 20 * np.log10(min(rests)) < -80
        assert trial.excerpt.caption.endswith(f"beside {song.entry.reference.title}")


def test_the_mix_is_as_near_as_the_move_can_bring_it(bench: Bench, drills: dict[str, Drill]) -> None:
    """A least distance, by another meter: a move to either side leads away, and the sides come by lot.

    Both signs come up in 16 layouts but for a chance of 2 in 65,536 (binomial).
    """
    drill = drills["reference_bottom"]
    signs = {
        np.sign(FORMS[drill.form].lay_out(drill, 3.0, np.random.default_rng([1, n])).takes[place].amount)
        for n in range(16)
        for place in (1, 2)
    }
    assert signs >= {-1.0, 1.0}
    song = next(each for each in bench.songs() if each.reference is not None)
    trial = next(t for t in list_trials(bench, drill, 2.0) if t.sha256 == song.sha256)
    example = bench.make(replace(trial.spec, demonstration=True))
    away = measure_away(example, ((0.0, 150.0),))
    assert [take.amount for take in example.layout.takes] == [0.0, 0.0, 2.0, -2.0]
    assert away[2] < min(away[3], away[4]) - MARGIN_DB


def test_a_trial_comes_out_the_same_with_its_own_song_alone(bench: Bench, drills: dict[str, Drill]) -> None:
    """Sample by sample, as `replay` makes it from one file's hash: the reference belongs to the song."""
    for name in NAMES:
        spec = TrialSpec(drills[name], 3, 1, 4.0)
        first = bench.make(spec)
        entry = next(each for each in list_demo_songs() if each.title == first.song.title)
        again = Bench((entry,), read_song).make(spec)
        assert np.array_equal(first.sounds, again.sounds)
        assert first.layout == again.layout and first.effect.sentences == again.effect.sentences


def test_another_file_in_the_references_place_is_refused(tmp_path: Path) -> None:
    """By its hash, and before anything is played; the line names the file."""
    entry = next(each for each in list_demo_songs() if each.reference is not None)
    assert entry.reference is not None
    other = tmp_path / "other.flac"
    other.write_bytes(Path(entry.path).read_bytes())
    with pytest.raises(BadValue, match=r"other\.flac: sha256=.*as it is listed"):
        read_song(replace(entry, reference=replace(entry.reference, path=str(other))))


def test_without_a_reference_a_clear_line_says_so(bench: Bench, drills: dict[str, Drill]) -> None:
    """On a person's own mix, or a song that has none; and the plan leaves such drills out there."""
    song = bench.songs()[0]
    own = Song(replace(song.entry, audio_class="own", reference=None), song.clip, song.sha256, song.file_rate_hz)
    with pytest.raises(BadValue, match="reference=none, expected a reference song of the same style"):
        prepare_trial((own,), TrialSpec(drills["reference_top"], 1, 0, 4.0))
    for audio_class, carried in (("own", False), ("demo", True)):
        reach = find_reach(tuple(drills.values()), (), "headphones", audio_class)
        assert all(reach.carries(drills[name]) is carried for name in NAMES)
        assert {each.cause: each.count for each in reach.list_left_out()}.get("reference", 0) == 2 * (not carried)


def test_a_mix_that_is_too_far_off_is_not_asked_about(bench: Bench, drills: dict[str, Drill]) -> None:
    """A chorus without its top octaves cannot be brought near by 6 dB of shelf; and no margin is no question."""
    song, drill = bench.songs()[0], drills["reference_top"]
    loop = song.clip.with_samples(song.clip.samples[: 8 * song.clip.rate_hz])
    dull = loop.with_samples(np.apply_along_axis(lambda x: np.convolve(x, np.ones(24) / 24, "same"), 0, loop.samples))
    move = bench._moves[drill.move]
    with pytest.raises(NotReachable, match="a reference so far off"):
        set_beside(song, dull, move, drill.settings, np.random.default_rng(1))
    layout = FORMS[drill.form].lay_out(drill, 3.0, np.random.default_rng(1))
    level = Effect(3.0, {"nearer_distance_db": 1.0, "further_distance_db": 1.05})
    with pytest.raises(NotReachable, match=r"margin_db=0\.05"):
        FORMS[drill.form].settle(layout, [level] * 3)


def test_its_link_is_that_of_the_nearer_to_a_third(drills: dict[str, Drill]) -> None:
    """ABX by differences, worked out anew: |a − x| < |b − x| for three sensations of unit variance.

    Monte Carlo of 400,000 trials at d′ 1.5, within four standard errors; picking one of two would be right oftener.
    """
    rng = np.random.default_rng(5)
    near, far, other = rng.standard_normal((3, 400_000))
    share = float(np.mean(np.abs(near - other) < np.abs(far + 1.5 - other)))
    task = FORMS["against_reference"].task(drills["reference_top"])
    assert task is not None
    assert float(link_for(task).correct(1.5)) == pytest.approx(share, abs=4 * 0.5 / np.sqrt(400_000))
    assert norm.cdf(1.5 / np.sqrt(2)) > share + 0.1


def test_the_receipt_names_the_reference(bench: Bench, drills: dict[str, Drill]) -> None:
    """Title and hash; a trial of one song alone names none."""
    trial = list_trials(bench, drills["reference_top"], 5.0)[0]
    receipt = write_trial_receipt(trial, ("1", "2", "3"), "t")
    assert trial.song.reference is not None
    assert receipt["reference"] == {"song": trial.song.reference.title, "sha256": trial.song.reference.sha256}
    assert [each["processed"] for each in receipt["versions"]].count(True) == 1
    plain = bench.make(TrialSpec(drills["low_shelf_120"], 1, 0, 5.0))
    assert "reference" not in write_trial_receipt(plain, ("1", "2", "3"), "t")


def test_only_a_filter_that_turns_both_ways_can_be_asked() -> None:
    """A limiter has no other side."""
    document = load_yaml(find_bundled("exercises") / "template" / "template.yaml")
    assert isinstance(document, dict)
    drill = {**document["drills"][0], "form": "against_reference", "move": "limiter", "settings": {}}
    with pytest.raises(BadValues, match="expected a shelf, a bell or a tilt"):
        read_drills({**document, "drills": [drill]}, "own.yaml")
