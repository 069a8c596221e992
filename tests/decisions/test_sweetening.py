"""Sweetening on songs made so that a move has a reason, or none; results against libebur128 and scipy."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import pyebur128
import pytest
from scipy.signal import butter, sosfilt

from tests.decisions.steady_songs import RATE_HZ, describe, make_steady
from tests.measure.sounds import music_like
from trainer.audio.clip import Clip
from trainer.decisions.balance import compare_balance
from trainer.decisions.balance_reading import SongBalance, read_balance
from trainer.decisions.bounces import Stretch
from trainer.decisions.compressor_bench import find_gap_ms
from trainer.decisions.evidence import Evidence
from trainer.decisions.sheet import Candidate
from trainer.decisions.song_results import list_steps, measure_candidate
from trainer.decisions.sweetening import MOST_CANDIDATES, PROPOSERS, propose_sweetening
from trainer.decisions.sweetening_bands import measure_swings, propose_band
from trainer.decisions.sweetening_colour import propose_saturation, propose_top_harmonics, propose_width
from trainer.decisions.sweetening_compression import propose_compression
from trainer.decisions.sweetening_ground import Ground, lay_ground
from trainer.dsp.song_chain import Step, render_song
from trainer.errors import NotReachable
from trainer.measure.beat import find_strokes
from trainer.measure.faults.scan import scan_faults

Wave = npt.NDArray[np.float64]
LOUD = Stretch(1.0, 7.0)
LENGTH_S = 8.0


def make_clip(wave: Wave) -> Clip:
    """Make a clip."""
    return Clip(np.ascontiguousarray(wave, dtype=np.float32), RATE_HZ)


@lru_cache(maxsize=2)
def make_song(kick: float = 0.0) -> Clip:
    """Make 8 s of a beat, a hit every 500 ms, kick and snare in turn, narrow; with more of a kick if wished."""
    wave = np.tile(music_like(4 * RATE_HZ, RATE_HZ, 5), (2, 1))
    middle, side = wave.mean(axis=1), (wave[:, 0] - wave[:, 1]) / 2
    if kick:
        since = np.arange(RATE_HZ // 4) / RATE_HZ
        thump = kick * np.sin(2 * np.pi * 55 * since) * np.exp(-since / 0.08)
        for place in range(0, middle.size - thump.size, RATE_HZ):
            middle[place : place + thump.size] += thump
    return make_clip(0.5 * np.stack([middle + 0.6 * side, middle - 0.6 * side], axis=1))


def lay(clip: Clip) -> Ground:
    """Measure a clip and cut its loop."""
    return lay_ground(clip, Evidence(describe(clip), *scan_faults(clip.samples, RATE_HZ)), LOUD)


def read_lufs(clip: Clip) -> float:
    """Read with libebur128."""
    meter = pyebur128.R128State(2, clip.rate_hz, pyebur128.MeasurementMode.MODE_I)
    meter.add_frames(clip.samples.reshape(-1), clip.frames)
    return float(pyebur128.get_loudness_global(meter))


@pytest.fixture(scope="module")
def compression() -> Candidate:
    """Give what is proposed for the plain beat."""
    return propose_compression(lay(make_song()))


def test_the_release_comes_from_the_beat(compression: Candidate) -> None:
    """Hits every 500 ms by construction; most of the gain is back, bass not rough, 1.5 dB on the hits of the loop."""
    assert find_gap_ms(find_strokes(make_song().samples, RATE_HZ)) == pytest.approx(500, abs=15)
    assert 40 <= compression.settings["release_ms"] <= 300
    assert compression.results["recovery_between_hits_percent"] >= 60
    assert compression.results.get("roughness_on_bass_db", -99.0) < -40
    assert compression.results["reduction_on_hits_db"] == pytest.approx(1.5, abs=0.3)
    assert compression.settings["side_chain_hz"] == 0 and "500 ms" in compression.reason


def test_the_reason_states_what_was_measured(compression: Candidate) -> None:
    """Peaks by numpy over the loudness by libebur128, without its offset of −0.691 dB (ITU-R BS.1770): to 0.5 dB."""
    song = make_song()
    loop = song.with_samples(song.samples[round(LOUD.start_s * RATE_HZ) : round(LOUD.end_s * RATE_HZ)])
    seconds = np.abs(loop.samples).max(axis=1).reshape(-1, RATE_HZ).max(axis=1)
    over_db = 20 * math.log10(float(seconds.mean())) - (read_lufs(loop) + 0.691)
    said = re.search(r"stand ([0-9.]+) dB over the song; ([0-9.]+) dB off them", compression.reason)
    assert said is not None
    assert float(said[1]) == pytest.approx(over_db, abs=0.5)
    assert float(said[2]) == pytest.approx(1.5, abs=0.06)


def test_the_slowest_release_that_fits_is_taken(compression: Candidate) -> None:
    """The window it was chosen from goes with it, and ends at it."""
    low, high = (compression.results[f"release_window_{end}_ms"] for end in ("from", "to"))
    assert low < high == compression.settings["release_ms"]
    assert f"Releases from {low:.0f} to {high:.0f} ms fit" in compression.reason


def test_results_are_those_of_the_whole_song(compression: Candidate) -> None:
    """libebur128 on the song through the same step: the change of loudness to 0.02 LU."""
    song = make_song()
    after = render_song(song, list_steps((compression,)))
    assert compression.results["loudness_change_lu"] == pytest.approx(read_lufs(after) - read_lufs(song), abs=0.02)
    # Peaks by numpy: 1.5 dB off the hits, or a little more or less.
    peaks = [20 * math.log10(float(np.abs(clip.samples).max())) for clip in (song, after)]
    assert compression.results["true_peak_change_db"] == pytest.approx(peaks[1] - peaks[0], abs=0.2)


def test_a_kick_that_steers_gets_a_side_chain_filter() -> None:
    """A kick 10 dB over the snare does all the triggering (common practice, no source)."""
    found = propose_compression(lay(make_song(1.6)))
    assert found.settings["side_chain_hz"] == 100 and "kick" in found.reason


def test_a_dense_song_is_left_alone() -> None:
    """Bent hard until its peaks stand a few dB over its loudness: neither compressed nor bent further."""
    ground = lay(make_clip(0.5 * np.tanh(8 * make_song().samples.astype(float))))
    for propose in (propose_compression, propose_saturation):
        with pytest.raises(NotReachable, match=r"dense already|full already"):
            propose(ground)


def test_without_a_beat_there_is_no_release() -> None:
    """Steady noise."""
    with pytest.raises(NotReachable, match=r"no beat|hits"):
        propose_compression(lay(make_steady(seed=3, length_s=LENGTH_S)))


def test_saturation_adds_what_is_said() -> None:
    """A held chord: what a fit of the whole song leaves (numpy, one gain) is at most a dB from the result."""
    time = np.arange(int(LENGTH_S * RATE_HZ)) / RATE_HZ
    chord = sum(np.sin(2 * np.pi * hz * time) for hz in (110.0, 138.6, 164.8, 220.0))
    hit = np.exp(-((time % 1.0) / 0.01)) * np.random.default_rng(1).standard_normal(time.size)
    song = make_clip(0.05 * np.repeat((np.asarray(chord) + 3 * hit)[:, None], 2, axis=1))
    found = propose_saturation(lay(song))
    after = render_song(song, list_steps((found,))).samples.astype(float).ravel()
    before = song.samples.astype(float).ravel()
    rest = after - before * (before @ after) / (before @ before)
    percent = 100 * math.sqrt(float((rest @ rest) / (after @ after)))
    assert found.results["added_percent"] == pytest.approx(percent, rel=0.25)
    assert found.results["added_percent"] == pytest.approx(1.0, rel=0.3)


def test_width_only_where_there_are_sides_and_they_are_narrow() -> None:
    """None: refused; as wide as its middle: refused; 10 dB below it: one dB more, to be checked on speakers."""
    wave = make_song().samples.astype(float)
    mono = np.repeat(wave.mean(axis=1, keepdims=True), 2, axis=1)
    with pytest.raises(NotReachable, match="no sides"):
        propose_width(lay(make_clip(mono)))
    with pytest.raises(NotReachable, match=r"not narrow|In mono"):
        propose_width(lay(make_steady(seed=3, length_s=LENGTH_S, side=0.8)))
    found = propose_width(lay(make_steady(seed=3, length_s=LENGTH_S, side=10 ** (-10 / 20))))
    assert found.results["side_gain_db"] == pytest.approx(1.0, abs=0.01) and "speakers" in found.note
    # A side 10 dB below the middle: correlation (1 − s²) / (1 + s²) (closed form).
    power = 10 ** (-10 / 10)
    assert found.results["correlation_before"] == pytest.approx((1 - power) / (1 + power), abs=0.02)


def test_top_harmonics_only_where_it_is_dull() -> None:
    """Against references 3 dB brighter there is a reason; against its like there is none."""
    song = make_song()
    ground = lay(song)
    own = read_balance("own", song, describe(song))

    noise = np.random.default_rng(1).standard_normal(own.outline.size).astype(np.float32)

    def lift(gain_db: float) -> SongBalance:
        bands = tuple(
            None if level is None else level + (gain_db if place >= 6 else 0.0)
            for place, level in enumerate(own.bands_db)
        )
        return replace(own, name="other", bands_db=bands, outline=noise)

    brighter, alike = (compare_balance(own, [lift(gain_db)]) for gain_db in (3.0, 0.0))
    found = propose_top_harmonics(replace(ground, comparison=brighter))
    assert "3.0 dB below" in found.reason and found.results["added_percent"] == pytest.approx(0.4, rel=0.3)
    with pytest.raises(NotReachable, match="not dull"):
        propose_top_harmonics(replace(ground, comparison=alike))
    cut = sosfilt(butter(12, 9000.0, "lowpass", fs=RATE_HZ, output="sos"), song.samples.astype(float), axis=0)
    with pytest.raises(NotReachable, match="no top to join"):
        propose_top_harmonics(lay(make_clip(cut)))


def test_one_band_only_where_it_comes_and_goes() -> None:
    """Low thumps in two seconds of eight, 10 dB over their usual share and more; steady noise has no such band."""
    time = np.arange(int(LENGTH_S * RATE_HZ)) / RATE_HZ
    bed = make_steady(seed=3, length_s=LENGTH_S).samples.astype(float)
    since = time % 0.5
    thumps = 0.4 * np.where((time >= 4) & (time < 6), np.exp(-since / 0.1), 0.0) * np.sin(2 * np.pi * 70.0 * since)
    song = make_clip(bed + thumps[:, None])
    swings = measure_swings(song, (0.0, 120.0, 800.0, 5000.0, math.inf))
    assert swings[0] > 6.0 and max(swings[1:]) < 3.0
    found = propose_band(lay(song))
    assert found.candidate == "multiband_low" and found.settings["band_number"] == 1
    assert found.results["reduction_in_band_db"] == pytest.approx(1.5, abs=0.5)
    with pytest.raises(NotReachable, match="No band"):
        propose_band(lay(make_clip(bed)))


def test_all_together_at_most_four_each_with_a_reason() -> None:
    """Every move is either offered or has its reason; names are unique; results have the song's loudness."""
    song = make_song()
    ground = lay(song)
    shares: list[float] = []
    found = propose_sweetening(song, ground.evidence, LOUD, tell=shares.append)
    assert len(found.candidates) <= MOST_CANDIDATES and found.candidates
    assert len(found.candidates) + len(found.left_out) == len(PROPOSERS)
    reasons = [one.reason for one in found.candidates] + [one.reason for one in found.left_out]
    assert all(reason.strip() for reason in reasons)
    assert all(one.step == "sweetening" and one.decision == "open" for one in found.candidates)
    assert all("loudness_change_lu" in one.results for one in found.candidates)
    assert shares == sorted(shares) and shares[-1] <= 1.0


def test_a_candidate_is_measured_behind_what_goes_before_it() -> None:
    """A shelf of −6 dB before a width: the width's figures are those of the shelved song, by the test's own chain."""
    song = make_song()
    shelf = Candidate("low_shelf", "balance", "taste", "low_shelf", -6.0, "dB", {"corner_hz": 200.0, "gain_db": -6.0})
    wide = Candidate("width", "sweetening", "taste", "width", 3.0, "dB", {"side_gain_db": 3.0})
    found = measure_candidate(song, wide, (shelf,))
    before = render_song(song, (Step("low_shelf", shelf.settings),))
    after = render_song(before, (Step("width", wide.settings),))
    assert found.results["loudness_change_lu"] == pytest.approx(read_lufs(after) - read_lufs(before), abs=0.01)
    assert [step.move for step in list_steps((wide, shelf))] == ["low_shelf", "width"]
