"""Verdicts and intake on sounds whose answer is known by construction."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from scipy.signal import firwin, lfilter

from tests.decisions.test_target import RULE, make
from tests.measure.sounds import music_like, noise, sine
from trainer.audio.file_form import FileForm
from trainer.decisions.check_words import word_check
from trainer.decisions.delivery import judge_delivery, list_check, sum_up
from trainer.decisions.evidence import CodedPeak, Evidence
from trainer.decisions.intake import IntakeItem, examine_mix, list_intake
from trainer.decisions.pictures import gather_pictures
from trainer.decisions.target import Target, read_targets
from trainer.measure.faults.scan import scan_faults

RATE_HZ = 48000
Wave = npt.NDArray[np.float64]


def gather(wave: Wave, bits: int = 24, rate_hz: int = RATE_HZ, **form: object) -> Evidence:
    """Measure and scan a wave as a file of so many bits."""
    step = 2.0 ** (1 - bits)
    programme, scan = scan_faults((np.round(wave / step) * step).astype(np.float32), rate_hz, step)
    facts: dict[str, object] = {"format": "WAV", "encoding": f"PCM_{bits}", "bit_depth": bits, **form}
    return Evidence(
        FileForm("mix.wav", sample_rate_hz=rate_hz, channels=wave.shape[1], frames=wave.shape[0], **facts),  # type: ignore[arg-type]
        programme,
        scan,
    )


def make_target(**changes: object) -> Target:
    """Make a target with one rule, on the true peak unless said otherwise."""
    return read_targets(make({**RULE, **changes}), "t.yaml")["quay"]


def make_song(peak: float = 0.5) -> Wave:
    """Make 8 s of a beat between silence, of a sample peak."""
    beat = np.tile(music_like(4 * RATE_HZ, RATE_HZ, 1), (2, 1)) + noise(8 * RATE_HZ, 1e-3, 2)
    fade = np.clip(np.arange(beat.shape[0]) / 9600, 0, 1)
    song = np.pad(beat * (fade * fade[::-1])[:, None], ((2400, 24000), (0, 0)))
    return np.asarray(song * peak / np.abs(song).max())


@pytest.mark.parametrize(
    ("dbtp", "outcome"), [(-1.2, "pass"), (-1.0, "pass"), (-0.98, "pass"), (-0.9, "fail"), (0.5, "fail")]
)
def test_a_ceiling(dbtp: float, outcome: str) -> None:
    """A sine's true peak is its amplitude (closed form); a reading is stated to a tenth, so −0.98 is −1.0."""
    evidence = gather(sine(997.0, 10 ** (min(dbtp, -0.01) / 20), 4 * RATE_HZ, RATE_HZ, fade_s=0.05))
    if dbtp > 0:
        evidence = gather(sine(12000.0, 10 ** (dbtp / 20), 4 * RATE_HZ, RATE_HZ, 45.0, fade_s=0.05))
    (verdict,) = judge_delivery(evidence, make_target())
    assert verdict.outcome == outcome and verdict.value == pytest.approx(dbtp, abs=0.02)
    assert bool(verdict.next_step) == (outcome == "fail")


@pytest.mark.parametrize(
    ("lufs", "words"), [(-9.0, "turned down by 5.0 dB"), (-14.0, "as aimed"), (-18.0, "4.0 dB under")]
)
def test_loudness_is_told_and_passes(lufs: float, words: str) -> None:
    """A stereo sine at 997 Hz is as loud as its peak level (ITU-R BS.1770-5, Annex 1)."""
    evidence = gather(sine(997.0, 10 ** (lufs / 20), 5 * RATE_HZ, RATE_HZ, fade_s=0.02))
    (verdict,) = judge_delivery(evidence, _aim())
    assert verdict.outcome == "pass" and words in verdict.reason


def _aim() -> Target:
    """A target that aims at −14 LUFS."""
    rule = {k: v for k, v in RULE.items() if k != "most"}
    return read_targets(
        make({**rule, "rule": "integrated_lufs", "aim": -14.0, "unit": "LUFS", "miss": "pass"}), "t.yaml"
    )["quay"]


def test_form_faults_and_what_cannot_be_measured() -> None:
    """By construction: a rate that is asked for and one that is not; clicks counted; silence has no level."""
    rate = {k: v for k, v in RULE.items() if k != "most"} | {"rule": "sample_rate_hz", "among": [44100], "unit": "Hz"}
    target = read_targets(make(rate, {**RULE, "rule": "click", "most": 0, "unit": "places"}, RULE), "t.yaml")["quay"]
    song = make_song()
    song[[100000, 200000]] += 0.4
    first, second, _ = judge_delivery(gather(song), target)
    assert (first.outcome, first.value) == ("fail", 48000) and "44100" in first.reason
    assert (second.outcome, second.value) == ("fail", 2)
    silent = judge_delivery(gather(np.zeros((RATE_HZ, 2))), make_target())
    assert silent[0].value is None and sum_up(silent) == "warn"
    assert sum_up(()) is None


def test_coded_peaks_are_judged_by_the_highest() -> None:
    """By construction: of three coded peaks the highest counts; without any there is nothing to miss."""
    target = make_target(rule="coded_true_peak_dbtp", most=0.0, miss="warn")
    plain = gather(make_song())
    assert judge_delivery(plain, target)[0].outcome == "pass"
    peaks = (CodedPeak("mp3", 128, 0.6), CodedPeak("opus", 128, None), CodedPeak("vorbis", 160, -0.4))
    coded = Evidence(plain.form, plain.programme, plain.scan, peaks)
    (verdict,) = judge_delivery(coded, target)
    assert (verdict.outcome, verdict.value) == ("warn", 0.6)
    lines = word_check(list_check(coded, target, (verdict,)))
    assert any("mp3 128 kb/s: true peak 0.6 dBTP" in line for line in lines)


def find_items(wave: Wave, topic: str, **form: object) -> list[IntakeItem]:
    """Examine a mix and give what is said on a topic."""
    items = examine_mix(gather(wave, **form))  # type: ignore[arg-type]
    assert all(set(entry) == {"topic", "verdict", "reason", "next"} for entry in list_intake(items))
    return [item for item in items if item.topic == topic]


@pytest.mark.parametrize("peak", [0.1, 0.5, 0.99])
def test_any_peak_that_is_not_cut_is_fine(peak: float) -> None:
    """The house's own rule: headroom is no virtue in itself."""
    (item,) = find_items(make_song(peak), "peaks")
    assert item.outcome == "pass" and "Headroom is no virtue" in item.reason


def test_flat_tops_are_named() -> None:
    """By construction: clipped 8 dB down, then turned down by 6 dB."""
    song = make_song(0.9)
    (item,) = find_items(0.5 * np.clip(song, -0.36, 0.36), "peaks")
    assert item.outcome == "fail" and "Flat tops" in item.reason and item.next_step


def test_a_limiter_is_named() -> None:
    """By construction: a song pressed against a ceiling by a curve; and an open one, which is not."""
    song = make_song(1.0)
    song *= np.repeat(np.random.default_rng(3).uniform(0.6, 1.0, 20), song.shape[0] // 20 + 1)[: song.shape[0], None]
    (open_item,) = find_items(song, "limiter")
    (pressed,) = find_items(0.8 * np.tanh(12 * song), "limiter")
    assert open_item.outcome == "pass" and pressed.outcome == "warn"


def test_a_lossy_source_is_named() -> None:
    """By construction: everything above 16 kHz taken away by a steep filter."""
    song = make_song() + noise(make_song().shape[0], 0.01, 5)
    (whole,) = find_items(song, "source")
    (cut,) = find_items(lfilter(firwin(511, 16000, fs=RATE_HZ), 1.0, song, axis=0), "source")
    assert whole.outcome == "pass" and cut.outcome == "warn" and "16" in cut.reason
    (coded,) = find_items(song, "source", bit_depth=None, format="MP3")
    assert coded.outcome == "fail"


def test_sides() -> None:
    """By construction: one side silent, one 4 dB lower, one turned over, and both alike."""
    song = make_song()
    assert find_items(song * [1.0, 0.0], "sides")[0].outcome == "fail"
    heavier = find_items(song * [1.0, 10 ** (-4 / 20)], "sides")[0]
    assert heavier.outcome == "warn" and "left side is 4.0 dB" in heavier.reason
    assert find_items(song * [1.0, -1.0], "mono")[0].outcome == "fail"
    assert find_items(song, "sides")[0].outcome == "pass"
    assert find_items(song[:, :1], "sides")[0].outcome == "warn"
    assert examine_mix(gather(np.zeros((RATE_HZ, 2))))[0].outcome == "fail"


def test_pictures_hold_what_a_picture_can_show() -> None:
    """By construction: 8 s thinned to columns; peaks keep the highest; the aim is the target's."""
    evidence = gather(make_song(0.5))
    pictures = gather_pictures(evidence, _aim())
    assert len(pictures.peaks) == 2 and max(map(max, pictures.peaks)) == pytest.approx(0.5, abs=1e-6)
    assert len(pictures.loudness_s) == len(pictures.short_term_lufs) and pictures.loudness_s[0] == 3.0
    assert pictures.aim_lufs == -14.0 and len(pictures.bands) >= 28
