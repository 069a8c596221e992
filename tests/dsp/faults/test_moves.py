"""What the faults keep as moves on a loop: measured as asked, where they say, after level matching too."""

from __future__ import annotations

import numpy as np
import pytest

from tests.dsp.faults.songs import beat, ending, voice
from trainer.audio.clip import Clip
from trainer.dsp.faults.moves import MOVES_OF_FAMILY
from trainer.dsp.matching import match_loops
from trainer.dsp.move import Move, complete_settings
from trainer.errors import EvenhandError

AMOUNTS = {
    "click": (3.0, 12.0, 40.0),
    "pop": (3.0, 12.0, 24.0),
    "hiss": (0.05, 1.0, 20.0),
    "hum": (0.05, 1.0, 20.0),
    "dropout": (2.0, 20.0, 300.0),
    "clipped_run": (3.5, 8.0, 30.0),
    "sibilance": (0.5, 6.0, 12.0),
    "bad_edit": (2.0, 40.0, 200.0),
    "abrupt_end": (60.0, 400.0, 900.0),
    "short_fade": (60.0, 400.0, 900.0),
    "intersample_over": (0.2, 1.0, 2.8),
}
# A frame, the resolution of what is counted in time, is about 0.02 ms.
CLOSE = {"dropout": 0.03, "abrupt_end": 0.1, "short_fade": 0.1, "bad_edit": 0.03, "pop": 0.02}
SONGS = {"sibilance": voice, "abrupt_end": ending, "short_fade": ending}
CASES = [(move, amount) for move in MOVES_OF_FAMILY for amount in AMOUNTS[move.name]]


def _loop(move: Move) -> Clip:
    return SONGS.get(move.name, beat)()


@pytest.mark.parametrize(("move", "amount"), CASES, ids=lambda value: getattr(value, "name", value))
def test_measured_as_asked_after_matching(move: Move, amount: float) -> None:
    """The house's own rule; also with the versions turned, and turned apart, by any gain."""
    loop = _loop(move)
    settings = move.solve(loop, amount, {})
    made = move.render(loop, settings)
    before, after = match_loops((loop, made))
    effect = move.measure(before.loop, after.loop, settings, after.gain_db - before.gain_db)
    near = pytest.approx(amount, rel=0.02 if move.name == "clipped_run" else 0.003, abs=CLOSE.get(move.name, 0.0))
    assert effect.amount == near
    assert effect.measured[move.effect_name] == effect.amount
    turned = made.with_samples(made.samples * np.float32(0.25))
    assert move.measure(loop, turned, settings, -12.0412).amount == near
    assert effect.sentences and len(effect.picture.measured) > 100


@pytest.mark.parametrize("move", MOVES_OF_FAMILY, ids=lambda move: move.name)
def test_it_is_the_same_every_time_and_only_where_it_says(move: Move) -> None:
    """Equal calls give equal sound; a fault at a place leaves the sound a second away as it is, bit for bit."""
    loop = _loop(move)
    settings = move.solve(loop, AMOUNTS[move.name][1], {})
    made = move.render(loop, settings)
    np.testing.assert_array_equal(move.render(loop, settings).samples, made.samples)
    place_s = move.measure(loop, made, settings).measured.get("place_s")
    if place_s is None or move.name in ("abrupt_end", "short_fade"):
        return
    changed = np.flatnonzero((made.samples != loop.samples).any(axis=1)) / loop.rate_hz
    assert changed.min() == pytest.approx(place_s, abs=0.02)
    assert changed.max() < place_s + 0.5


@pytest.mark.parametrize("name", ["click", "pop", "dropout", "bad_edit", "intersample_over"])
def test_the_share_picks_the_place(name: str) -> None:
    """Shares of 0, a half and 1 give places in the order of time."""
    move, loop = next(move for move in MOVES_OF_FAMILY if move.name == name), beat()
    places = []
    for share in (0.0, 0.5, 1.0):
        settings = move.solve(loop, AMOUNTS[name][1], {"place_share": share})
        places.append(move.measure(loop, move.render(loop, settings), settings).measured["place_s"])
    assert places[0] < places[1] < places[2]


@pytest.mark.parametrize("move", MOVES_OF_FAMILY, ids=lambda move: move.name)
def test_none_is_none(move: Move) -> None:
    """An amount of 0, where there is one, gives the loop itself, bit for bit, and nothing is measured."""
    if move.name in ("click", "pop", "intersample_over"):
        return
    loop = _loop(move)
    settings = move.solve(loop, 0.0, {})
    made = move.render(loop, settings)
    np.testing.assert_array_equal(made.samples, loop.samples)
    assert move.measure(loop, made, settings).amount == 0.0


@pytest.mark.parametrize("move", MOVES_OF_FAMILY, ids=lambda move: move.name)
@pytest.mark.parametrize("amount", [float("nan"), -1.0, 1e9])
def test_impossible_amounts_are_one_line(move: Move, amount: float) -> None:
    """No number, less than nothing, too much."""
    with pytest.raises(EvenhandError) as caught:
        move.solve(_loop(move), amount, {})
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("move", MOVES_OF_FAMILY, ids=lambda move: move.name)
@pytest.mark.parametrize("frames", [1, 64])
def test_silence_and_a_few_frames(move: Move, frames: int) -> None:
    """Silence stays silent and is refused where it would have to be measured; one frame gives a finite result."""
    silent = Clip(np.zeros((frames, 2), np.float32), 48000)
    full = complete_settings(move, {})
    assert not move.render(silent, full).samples.any()
    with pytest.raises(EvenhandError):
        move.solve(silent, 1.0, {})
    with pytest.raises(EvenhandError):
        move.measure(silent, silent, full)
    short = Clip(np.full((frames, 2), 0.5, np.float32), 48000)
    made = move.render(short, full)
    assert made.samples.shape == short.samples.shape
    assert np.isfinite(made.samples).all()
    assert np.isfinite(move.measure(short, made, full).amount)


@pytest.mark.parametrize("rate_hz", [32000, 44100, 96000])
def test_other_rates(rate_hz: int) -> None:
    """The rate is in no figure: a click and a hum are measured as asked at any."""
    for name, amount in (("click", 12.0), ("hum", 1.0), ("dropout", 20.0), ("intersample_over", 1.0)):
        move, loop = next(move for move in MOVES_OF_FAMILY if move.name == name), beat(2.0, rate_hz)
        settings = move.solve(loop, amount, {})
        effect = move.measure(loop, move.render(loop, settings), settings)
        assert effect.amount == pytest.approx(amount, rel=0.003)
