"""Level, width, mono, polarity and exchanged sides: closed forms of middle and side, and what is read of them."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pyebur128
import pytest

from tests.measure.sounds import music_like, noise
from trainer.audio.clip import Clip
from trainer.dsp.move import complete_settings
from trainer.dsp.processor import run_through
from trainer.dsp.stereo.exchange import Polarity, SwapSides
from trainer.dsp.stereo.level import Level
from trainer.dsp.stereo.matrix import MatrixMove
from trainer.dsp.stereo.width import Mono, Width
from trainer.errors import BadValue, NotReachable
from trainer.measure.contents import measure_contents

RATE_HZ = 48000
NEUTRAL: tuple[tuple[MatrixMove, float], ...] = (
    (Level(), 0.0),
    (Width(), 0.0),
    (Mono(), 0.0),
    (Polarity(), 0.0),
    (SwapSides(), 0.0),
)
CASES: tuple[tuple[MatrixMove, float], ...] = (
    (Level(), 0.5),
    (Level(), -6.0),
    (Width(), 3.0),
    (Width(), -9.0),
    (Mono(), 6.0),
    (Mono(), 60.0),
    (Polarity(), 180.0),
    (SwapSides(), 100.0),
)


def _clip(samples: npt.NDArray[np.floating]) -> Clip:
    return Clip(np.asarray(samples).astype(np.float32), RATE_HZ)


def _music() -> Clip:
    """Music-like sound whose channels differ in level, too."""
    return _clip(music_like(2 * RATE_HZ, RATE_HZ, 1) * [1.0, 0.8])


def _sides(clip: Clip) -> tuple[np.ndarray, np.ndarray]:
    left, right = clip.samples.astype(np.float64).T
    return (left + right) / 2, (left - right) / 2


def _rms_db(values: np.ndarray) -> float:
    return float(20 * np.log10(np.sqrt(np.mean(values**2))))


@pytest.mark.parametrize("move,amount", CASES)
def test_the_amount_is_found_again(move: MatrixMove, amount: float) -> None:
    """The move's own reading, on sound that was turned up as a whole besides: 0.01 of its unit."""
    before = _music()
    full = move.solve(before, amount, {})
    after = move.render(before, full)
    turned = after.with_samples(after.samples.astype(np.float64) * 10 ** (1.7 / 20))
    effect = move.measure(before, turned, full, 1.7)
    assert effect.amount == pytest.approx(amount, abs=0.01)
    assert next(iter(effect.measured)) == move.effect_name
    assert all(sentence.endswith(".") for sentence in effect.sentences)


@pytest.mark.parametrize("gain_db", [-12.0, -3.0, 3.0, 12.0])
def test_width_turns_the_side_and_leaves_the_middle(gain_db: float) -> None:
    """Closed form: S' = g S, M' = M; correlation and loss in mono follow from powers of M and S."""
    before = _music()
    after = Width().render(before, {"side_gain_db": gain_db})
    middle, side = _sides(before)
    np.testing.assert_allclose(_sides(after)[0], middle, atol=1e-7)
    np.testing.assert_allclose(_sides(after)[1], side * 10 ** (gain_db / 20), atol=3e-7)
    measured = Width().measure(before, after, {"side_gain_db": gain_db}).measured
    left, right = after.samples.astype(np.float64).T
    assert measured["correlation_after"] == pytest.approx(left @ right / np.sqrt((left @ left) * (right @ right)))
    assert measured["side_over_middle_after_db"] == pytest.approx(_rms_db(side) + gain_db - _rms_db(middle), abs=1e-3)
    assert (measured["mono_loss_after_lu"] > measured["mono_loss_before_lu"]) == (gain_db > 0)


def test_mono_at_its_end_leaves_two_equal_channels() -> None:
    """By definition, to the bit: both channels are the middle."""
    before = _music()
    after = Mono().render(before, {})
    np.testing.assert_array_equal(after.samples[:, 0], after.samples[:, 1])
    np.testing.assert_allclose(after.samples[:, 0], _sides(before)[0], atol=1e-7)
    assert Mono().measure(before, after, {}).measured["mono_loss_after_lu"] == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("level_db", [-6.0, -0.5, 1.0])
def test_level_is_what_a_second_meter_reads(level_db: float) -> None:
    """libebur128's integrated loudness (ITU-R BS.1770) before and after: 0.01 LU."""
    before = _clip(noise(4 * RATE_HZ, 0.05, 2))
    after = Level().render(before, {"level_db": level_db})
    readings = []
    for clip in (before, after):
        state = pyebur128.R128State(2, RATE_HZ, pyebur128.MeasurementMode.MODE_I)
        state.add_frames(clip.samples.astype(np.float64).ravel(), clip.frames)
        readings.append(pyebur128.get_loudness_global(state))
    assert readings[1] - readings[0] == pytest.approx(level_db, abs=0.01)
    assert Level().measure(before, after, {}).amount == pytest.approx(readings[1] - readings[0], abs=0.01)


def test_only_level_asks_not_to_be_matched() -> None:
    """A question of level that is brought to one loudness has no answer left (arithmetic)."""
    assert [move.name for move, _ in NEUTRAL if not move.matched] == ["level"]


def test_polarity_and_exchange_to_the_bit() -> None:
    """By definition: the right channel's sign; the channels' places. Both are their own inverse."""
    before = _music()
    turned, swapped = Polarity().render(before, {}), SwapSides().render(before, {})
    np.testing.assert_array_equal(turned.samples, before.samples * np.array([1, -1], np.float32))
    np.testing.assert_array_equal(swapped.samples, before.samples[:, ::-1])
    for move, once in ((Polarity(), turned), (SwapSides(), swapped)):
        np.testing.assert_array_equal(move.render(once, {}).samples, before.samples)
    was, became = (Polarity().measure(before, turned, {}).measured[f"correlation_{w}"] for w in ("before", "after"))
    assert became == pytest.approx(-was)
    balance = [SwapSides().measure(before, swapped, {}).measured[f"balance_{w}_db"] for w in ("before", "after")]
    assert balance[1] == pytest.approx(-balance[0])


@pytest.mark.parametrize("move,amount", NEUTRAL)
def test_nothing_asked_is_the_loop_bit_for_bit(move: MatrixMove, amount: float) -> None:
    """A zero amount must not change a bit, neither in a loop nor in a stream, and is read as none."""
    loop = _music()
    full = move.solve(loop, amount, {})
    np.testing.assert_array_equal(move.render(loop, full).samples, loop.samples)
    np.testing.assert_array_equal(run_through(move.begin(full, RATE_HZ), loop).samples, loop.samples)
    assert move.measure(loop, loop, full).amount == pytest.approx(0.0, abs=1e-4)


@pytest.mark.parametrize("move,amount", CASES)
def test_a_stream_gives_what_the_loop_gives(move: MatrixMove, amount: float) -> None:
    """Without memory a block is as good as the whole (by definition)."""
    loop = _clip(_music().samples[:3000])
    full = complete_settings(move, {move.effect_name: amount})
    rendered = move.render(loop, full).samples
    for block_frames in (1, 997):
        np.testing.assert_allclose(
            run_through(move.begin(full, RATE_HZ), loop, block_frames).samples, rendered, atol=1e-8
        )


@pytest.mark.parametrize("move", [Width(), Mono(), SwapSides()])
def test_without_a_side_nothing_can_be_had(move: MatrixMove) -> None:
    """One channel twice: refused in one line, and so is reading it."""
    loop = _clip(np.repeat(noise(RATE_HZ, 0.1, 3)[:, :1], 2, axis=1))
    with pytest.raises(NotReachable, match="no side"):
        move.solve(loop, complete_settings(move, {})[move.effect_name] or 3.0, {})
    if move.unit == "dB":
        with pytest.raises(BadValue, match="side"):
            move.measure(loop, loop, {})


@pytest.mark.parametrize("move", [move for move, _ in NEUTRAL])
def test_of_silence_nothing_is_read(move: MatrixMove) -> None:
    """One line, no figure."""
    loop = _clip(np.zeros((4800, 2)))
    with pytest.raises(BadValue, match="expected"):
        move.measure(loop, loop, {})


def test_polarity_needs_both_channels() -> None:
    """One silent side: refused in one line by the solver and by the reading."""
    loop = _clip(noise(4800, 0.1, 4) * [1.0, 0.0])
    with pytest.raises(NotReachable, match="one side is silent"):
        Polarity().solve(loop, 180.0, {})
    with pytest.raises(BadValue, match="both sides"):
        Polarity().measure(loop, loop, {})


def test_narrow_songs_do_not_do_for_width() -> None:
    """Correlation 0.9 is the bound (arithmetic in the source): independent noise will do, near mono will not."""
    wide = noise(4 * RATE_HZ, 0.1, 5)
    narrow = wide * 0.1 + wide[:, :1]
    for samples, met in ((wide, True), (narrow, False)):
        contents = measure_contents(samples, RATE_HZ).cut(0.0, 4.0)
        for move in (Width(), Mono(), SwapSides()):
            assert all(need.met for need in move.needs(contents, {})) == met
