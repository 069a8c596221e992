"""Rules that every move keeps, on any sound and with any settings within bounds."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from tests.measure.meters import long_dbtp_of_loop
from trainer.audio.clip import Clip
from trainer.dsp.dynamics.song_push import SongPush
from trainer.dsp.move import complete_settings
from trainer.dsp.moves import list_moves_with
from trainer.dsp.stereo.part_level import PartLevel
from trainer.errors import BadValue, EvenhandError


def _code(clip: Clip, codec: str, rate_kbps: float) -> Clip:
    """Stand in for a coder: less of what is above, the lower the rate."""
    kept = np.fft.rfft(clip.samples.astype(np.float64), axis=0)
    kept[int(kept.shape[0] * min(1.0, rate_kbps / 400)) :] = 0
    return clip.with_samples(np.fft.irfft(kept, n=clip.frames, axis=0))


# Parts of a mix want a stem: tests/exercise/test_parts.py has songs that come with one.
MOVES = {name: move for name, move in list_moves_with(_code).items() if not isinstance(move, (PartLevel, SongPush))}
QUICK = settings(max_examples=12, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
# A dithered word's noise sounds in silence too: that is what it is for.
SOUND_OF_THEIR_OWN = ("word_length",)
KINDS = ("silence", "near silence", "noise", "one side", "constant", "pulse", "loud")


@st.composite
def loops(draw: st.DrawFn) -> Clip:
    """Draw a short loop of any kind at a working rate."""
    rate_hz = draw(st.sampled_from((44100, 48000)))
    frames = draw(st.integers(4000, 20000))
    kind = draw(st.sampled_from(KINDS))
    samples = np.random.default_rng(draw(st.integers(0, 2**32 - 1))).standard_normal((frames, 2)) * 0.2
    if kind == "silence":
        samples[:] = 0.0
    elif kind == "near silence":
        samples *= 1e-9
    elif kind == "one side":
        samples[:, draw(st.integers(0, 1))] = 0.0
    elif kind == "constant":
        samples[:] = draw(st.floats(-1, 1))
    elif kind == "pulse":
        samples[:] = 0.0
        samples[draw(st.integers(0, frames - 1))] = 1.0
    elif kind == "loud":
        samples *= 20.0
    return Clip(samples.astype(np.float32), rate_hz)


def _draw_settings(data: st.DataObject, name: str) -> dict[str, float]:
    return {
        p.name: data.draw(st.sampled_from(p.choices) if p.choices else st.floats(p.low, p.high), label=p.name)
        for p in MOVES[name].parameters
    }


@pytest.mark.parametrize("name", sorted(MOVES))
@QUICK
@given(loop=loops(), data=st.data())
def test_rendering_keeps_shape_and_is_finite(name: str, loop: Clip, data: st.DataObject) -> None:
    """What every move promises: same length and rate, finite numbers, inputs left alone; equal calls, equal sound."""
    move, chosen = MOVES[name], _draw_settings(data, name)
    kept = loop.samples.copy()
    prepared = move.prepare(loop)
    rendered = move.render(prepared, chosen)
    for clip in (prepared, rendered):
        assert clip.samples.shape == loop.samples.shape
        assert clip.rate_hz == loop.rate_hz
        assert np.isfinite(clip.samples).all()
    np.testing.assert_array_equal(loop.samples, kept)
    np.testing.assert_array_equal(move.render(prepared, chosen).samples, rendered.samples)
    if not loop.samples.any() and name not in SOUND_OF_THEIR_OWN:
        assert not rendered.samples.any()
    if name in ("limiter", "push"):
        # The ceiling holds on a long meter whatever is asked; 1e-6 dB is rounding.
        assert long_dbtp_of_loop(rendered.samples) <= chosen["ceiling_dbtp"] + 1e-6


@pytest.mark.parametrize("name", sorted(MOVES))
@QUICK
@given(loop=loops(), data=st.data())
def test_asking_gives_a_finite_effect_or_one_line(name: str, loop: Clip, data: st.DataObject) -> None:
    """Solve, render and measure: finite figures, or an error of one line that a person can read."""
    move = MOVES[name]
    assume(name != "high_shelf" or np.ptp(loop.samples) > 0)
    amount = data.draw(st.floats(0.0, 12.0), label="amount")
    prepared = move.prepare(loop)
    try:
        solved = move.solve(prepared, amount, {})
        effect = move.measure(prepared, move.render(prepared, solved), solved)
    except EvenhandError as error:
        assert "\n" not in str(error)
        return
    assert np.isfinite(effect.amount)
    assert np.isfinite(list(effect.measured.values())).all()
    assert np.isfinite(np.array(effect.picture.measured)).all()
    assert all(sentence and "nan" not in sentence for sentence in effect.sentences)


@pytest.mark.parametrize("constant", [0.0, 1.0])
def test_a_shelf_on_a_constant_gives_a_finite_effect_or_one_line(constant: float) -> None:
    """As above, on a sound without any band that could be read."""
    move, loop = MOVES["high_shelf"], Clip(np.full((9600, 2), constant, np.float32), 48000)
    try:
        effect = move.measure(loop, loop, {"gain_db": 3.0})
    except EvenhandError as error:
        assert "\n" not in str(error)
        return
    assert np.isfinite(effect.amount)


@pytest.mark.parametrize("name", sorted(MOVES))
@given(data=st.data())
@QUICK
def test_bad_settings_are_refused_in_one_line(name: str, data: st.DataObject) -> None:
    """Values out of bounds, no numbers, and unknown names are refused before any sound is touched."""
    move = MOVES[name]
    parameter = data.draw(st.sampled_from(move.parameters))
    beyond = st.one_of(
        st.floats(min_value=parameter.high, exclude_min=True),
        st.floats(max_value=parameter.low, exclude_max=True),
    )
    for bad in (
        {parameter.name: data.draw(beyond)},
        {parameter.name: float("nan")},
        {"no_such_setting": 1.0},
    ):
        with pytest.raises(BadValue) as caught:
            complete_settings(move, bad)
        assert "\n" not in str(caught.value)
        with pytest.raises(BadValue):
            move.render(Clip(np.zeros((4000, 2), np.float32), 48000), bad)


@pytest.mark.parametrize("name", sorted(MOVES))
def test_names_carry_units_and_defaults_lie_within_bounds(name: str) -> None:
    """House rule: a quantity's name ends in its unit; bounds and defaults are allowed values."""
    move = MOVES[name]
    assert move.name == name
    assert move.effect_name.endswith(move.unit.lower())
    for parameter in move.parameters:
        # A pure ratio or share has no unit to carry.
        assert not parameter.unit or parameter.name.endswith("_" + parameter.unit.lower())
        assert parameter.low <= parameter.default <= parameter.high
        assert not parameter.choices or parameter.default in parameter.choices
        for edge in (parameter.low, parameter.high):
            assert complete_settings(move, {parameter.name: edge})[parameter.name] == edge
