"""Rungs on a song: loudness and true peak of each rendering by libebur128, costs against what is known of limiting."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pyebur128
import pytest

from tests.decisions.test_target import RULE, make
from tests.measure.sounds import music_like
from trainer.audio.clip import Clip
from trainer.decisions.bounces import Stretch
from trainer.decisions.candidate_loops import cut_versions
from trainer.decisions.rungs import (
    RungsTried,
    add_changes,
    list_around,
    list_playback,
    read_own,
    try_rungs,
    turn_down,
)
from trainer.decisions.sheet import Candidate
from trainer.decisions.song_results import list_steps, measure_candidate
from trainer.decisions.target import read_targets
from trainer.dsp.move import complete_settings
from trainer.dsp.moves import MOVES
from trainer.dsp.song_chain import render_song
from trainer.errors import BadValue

RATE_HZ = 48000
ASKED = (-40.0, -13.0, -10.0, -1.0)
SHELF = Candidate(
    "low_shelf_120", "balance", "taste", "low_shelf", -2.0, "dB",
    complete_settings(MOVES["low_shelf"], {"corner_hz": 120.0, "gain_db": -2.0}),
)  # fmt: skip
BELL = Candidate(
    "bell_1000", "balance", "taste", "bell", -3.0, "dB",
    complete_settings(MOVES["bell"], {"centre_hz": 1000.0, "centre_gain_db": -3.0}),
)  # fmt: skip
LOUD = Stretch(2.0, 6.0)


@lru_cache(maxsize=1)
def make_song() -> Clip:
    """Make 8 s of a beat between moments of silence."""
    beat = np.tile(music_like(4 * RATE_HZ, RATE_HZ, 4), (2, 1))
    return Clip(np.pad(0.7 * beat, ((4800, 9600), (0, 0))).astype(np.float32), RATE_HZ)


@lru_cache(maxsize=1)
def make_rungs() -> RungsTried:
    """Try once for all tests."""
    return try_rungs(make_song(), (SHELF,), ASKED, -1.5, {"streaming": -14.0}, stretches=(LOUD,))


def read(clip: Clip) -> tuple[float, float]:
    """Read integrated loudness and true peak with libebur128."""
    mode = pyebur128.MeasurementMode.MODE_I | pyebur128.MeasurementMode.MODE_TRUE_PEAK
    meter = pyebur128.R128State(2, clip.rate_hz, mode)
    meter.add_frames(clip.samples.reshape(-1), clip.frames)
    peak = max(pyebur128.get_true_peak(meter, channel) for channel in (0, 1))
    return pyebur128.get_loudness_global(meter), 20 * float(np.log10(peak))


def test_each_rung_is_what_its_steps_make() -> None:
    """Rendered again through the chain: what is said to 0.05 LU, near what was asked, under the ceiling."""
    tried = make_rungs()
    assert [rung.asked_lufs for rung in tried.loudness.rungs] == [-13.0, -10.0]
    for number, rung in enumerate(tried.loudness.rungs):
        made = render_song(make_song(), (*list_steps((SHELF,)), *tried.list_steps(number)))
        loudness, peak = read(made)
        assert loudness == pytest.approx(rung.reached_lufs, abs=0.05)
        assert rung.reached_lufs == pytest.approx(rung.asked_lufs, abs=0.2)
        assert peak <= -1.5 and rung.costs["true_peak_dbtp"] <= -1.5
    assert tried.loudness.settings["ceiling_dbtp"] == -1.5 and "drive_db" not in tried.loudness.settings


def test_a_song_is_as_loud_as_its_moves_leave_it() -> None:
    """By libebur128 on the rendered song: what a rung says came into the limiter, and what moves add up to, 0.05 LU."""
    behind, _ = read(render_song(make_song(), list_steps((SHELF,))))
    own = [read_own(rung) for rung in make_rungs().loudness.rungs]
    assert own == pytest.approx([behind, behind], abs=0.05)
    kept: tuple[Candidate, ...] = ()
    for each in (SHELF, BELL):
        kept = (*kept, measure_candidate(make_song(), each, kept))
    both, _ = read(render_song(make_song(), list_steps(kept)))
    untouched, _ = read(make_song())
    assert abs(both - untouched) > 0.5 and add_changes(untouched, kept) == pytest.approx(both, abs=0.05)
    assert add_changes(untouched, (SHELF,)) is None and add_changes(untouched, ()) == untouched


def test_nothing_is_pushed_to_less_than_it_has() -> None:
    """By libebur128: 0.05 LU under what the song has is refused, and not pushed to."""
    untouched, _ = read(make_song())
    refused = try_rungs(make_song(), (), (untouched - 0.05,)).refused
    assert len(refused) == 1 and "needs no limiter" in refused[0]


def test_louder_costs_more() -> None:
    """The limiter takes what the ceiling does not hold: peak to loudness is ceiling less loudness (definition)."""
    calm, loud = make_rungs().loudness.rungs
    for rung in (calm, loud):
        peak_to_loudness = rung.costs["true_peak_dbtp"] - rung.reached_lufs
        assert rung.costs["peak_to_loudness_db"] == pytest.approx(peak_to_loudness, abs=0.05)
        # The gain at rest less the deepest reductions is about what the loudest hits have gained.
        assert 0 <= rung.costs["reduction_on_hits_db"] < rung.drive_db
    for name in ("reduction_on_hits_db", "hits_crest_lost_db", "snare_crest_lost_db", "added_percent"):
        assert loud.costs[name] > calm.costs[name]


def test_what_cannot_be_had_is_said() -> None:
    """Softer than the song, and −1 LUFS under a ceiling of −1.5 dBTP."""
    soft, high = make_rungs().refused
    assert soft.startswith("−40.0 LUFS") and "needs no limiter" in soft
    assert high.startswith("−1.0 LUFS") and "does not come over" in high


def test_the_loops_of_the_rungs_are_cut_on_the_way() -> None:
    """The same sound as when each is rendered again for its loop; equally loud after the match."""
    tried = make_rungs()
    chains = [(*list_steps((SHELF,)), *tried.list_steps(number)) for number in range(len(tried.loudness.rungs))]
    (again,) = cut_versions(make_song(), chains, {"loudest": LOUD})
    for (loop,), version in zip(tried.loops, again.versions, strict=True):
        gain = 10 ** (version.gain_db / 20)
        assert np.abs(loop.samples * gain - version.loop.samples).max() < 1e-4


def test_playback_turns_down_what_is_over_its_aim() -> None:
    """Arithmetic: −10 LUFS where −14 is played is 4 dB down, where −9 is played nothing."""
    rule = {**RULE, "rule": "integrated_lufs", "unit": "LUFS", "miss": "pass"}
    rule = {key: value for key, value in rule.items() if key not in ("most", "least", "between", "among")}
    targets = [
        *read_targets(make({**rule, "aim": -14.0}), "t.yaml").values(),
        *read_targets(make({**rule, "between": [-12.0, -9.0]}), "t.yaml").values(),
        *read_targets(make(RULE), "t.yaml").values(),
    ]
    playback = list_playback(targets[:1]) | {"other": list_playback(targets[1:2])["quay"]}
    assert turn_down(-10.0, playback) == {
        "turned_down_quay_db": pytest.approx(4.0),
        "turned_down_other_db": 0.0,
    }
    assert list_playback(targets[2:]) == {}
    rung = make_rungs().loudness.rungs[1]
    assert rung.costs["turned_down_streaming_db"] == pytest.approx(rung.reached_lufs + 14.0)


def test_four_are_proposed_around_an_aim() -> None:
    """One calmer, the aim, two louder; from −14 to −7 LUFS without an aim."""
    assert list_around(-14.0) == (-16.0, -14.0, -12.5, -11.0)
    assert list_around(-6.0) == (-8.0, -6.0, -5.0)
    assert list_around(None)[0] == -14.0 and list_around(None)[-1] == -7.0


def test_nothing_and_silence_are_refused() -> None:
    """A line each."""
    with pytest.raises(BadValue, match="1 to 8"):
        try_rungs(make_song(), (), ())
    with pytest.raises(BadValue, match="sound in it"):
        try_rungs(Clip(np.zeros((RATE_HZ * 5, 2), np.float32), RATE_HZ), (), (-14.0,))
