"""What a bounce is made of, and the sound passing by: against closed forms and scipy."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
from scipy.signal import resample

from tests.decisions.sheets import make_candidate, make_sheet
from tests.measure.sounds import noise
from trainer.audio.file_form import FileForm
from trainer.decisions.bounce import check_version, correct_drive, find_turn_down, make_push, plan_bounce
from trainer.decisions.bounce_stream import (
    convert_blocks,
    fade_blocks,
    regroup_blocks,
    round_blocks,
    run_blocks,
    trim_blocks,
)
from trainer.decisions.bounce_words import BounceFigures, word_bounce
from trainer.decisions.sheet import Delivery, Fades, Loudness
from trainer.dsp.processor import Delay
from trainer.errors import BadValue

RATE_HZ = 48000
Rows = npt.NDArray[np.float64]
FORM = FileForm("low_tide.wav", "WAV", "PCM_24", RATE_HZ, 2, round(191.25 * RATE_HZ), 24)


def cut(rows: npt.NDArray[np.floating], seed: int = 3) -> Iterator[npt.NDArray[np.floating]]:
    """Cut a sound into blocks of any length, some of one frame."""
    rng, at = np.random.default_rng(seed), 0
    while at < rows.shape[1]:
        length = int(rng.choice([1, 7, 1000, 30011, 70000]))
        yield rows[:, at : at + length]
        at += length


def join(blocks: Iterator[Rows]) -> Rows:
    """Put blocks together."""
    return np.concatenate(list(blocks), axis=1)


def test_moves_are_made_in_the_order_of_the_chain() -> None:
    """High-pass before equaliser before compression before width: common practice, no source."""
    kept = [make_candidate(name, name, decision="keep") for name in ("width", "compressor", "bell", "high_pass")]
    left = make_candidate("tilt", "tilt", decision="leave")
    plan = plan_bounce(make_sheet(candidates=(*kept, left)), FORM, ".wav")
    assert [step.move for step in plan.steps] == ["high_pass", "bell", "compressor", "width"]
    assert plan.push is not None and plan.push.move == "song_push"
    assert plan.push.settings["drive_db"] == 6.3 and plan.push.settings["ceiling_dbtp"] == -1.0
    assert (plan.first_frame, plan.last_frame) == (12000, 190 * RATE_HZ)
    assert (plan.rate_hz, plan.bit_depth, plan.aimed_lufs) == (44100, 16, -11.99)


def test_the_limiter_follows_from_its_settings() -> None:
    """By construction: without a clipper's height it is the limiter alone; without a rung there is none."""
    loudness = make_sheet().loudness
    alone = {name: value for name, value in loudness.settings.items() if name != "clip_over_db"}
    push = make_push(replace(loudness, settings=alone))
    assert push is not None and push.move == "limiter" and push.settings["release_ms"] == 60.0
    assert make_push(Loudness()) is None


@pytest.mark.parametrize("rate_hz", [44100, 48000, 88200, 96000, 192000])
def test_work_and_delivery_rates(rate_hz: int) -> None:
    """By construction: worked at 44.1 or 48 kHz, whichever divides; delivered at the mix's own rate if 0."""
    sheet = make_sheet(delivery=Delivery(0, 24))
    plan = plan_bounce(sheet, replace(FORM, sample_rate_hz=rate_hz, frames=round(191.25 * rate_hz)), ".flac")
    assert plan.rate_hz == rate_hz and plan.work_rate_hz in (44100, 48000) and rate_hz % plan.work_rate_hz == 0


@pytest.mark.parametrize(
    ("suffix", "rate_hz", "bit_depth", "line"),
    [
        (".mp3", None, None, "bounce: --out=.mp3, expected a file that ends in .wav or .flac"),
        ("", None, None, "--out=no suffix"),
        (".flac", None, 32, "--bit-depth=32, expected 16 or 24 for FLAC"),
        (".wav", None, 20, "--bit-depth=20, expected one of 16, 24, 32"),
        (".wav", 22050, None, "--rate=22050, expected one of 44100"),
    ],
)
def test_forms_that_cannot_be_had(suffix: str, rate_hz: int | None, bit_depth: int | None, line: str) -> None:
    """One line each."""
    with pytest.raises(BadValue) as caught:
        plan_bounce(make_sheet(), FORM, suffix, rate_hz, bit_depth)
    assert line in str(caught.value)


def test_fades_longer_than_what_is_left() -> None:
    """By construction: 1 s is kept and faded for 2 s."""
    with pytest.raises(BadValue, match="fades=10 to 11 s"):
        plan_bounce(make_sheet(fades=Fades(10.0, 1.0, 11.0, 1.0)), FORM, ".wav")


def test_versions_have_the_mix_s_length_and_rate() -> None:
    """By construction: 10 ms more or less may be a head's rounding; more is another song."""
    sheet = make_sheet()
    check_version(sheet, replace(FORM, frames=FORM.frames + 400))
    for form in (replace(FORM, frames=FORM.frames + 600), replace(FORM, sample_rate_hz=44100)):
        with pytest.raises(BadValue, match="as the mix has"):
            check_version(sheet, form)


@pytest.mark.parametrize(("from_hz", "to_hz"), [(44100, 48000), (48000, 44100), (96000, 48000), (48000, 96000)])
def test_a_rate_converted_block_by_block(from_hz: int, to_hz: int) -> None:
    """Closed form: a sine is the same sine at the other rate; scipy's whole-spectrum resampling of noise under it."""
    time_s, frames = np.arange(7 * from_hz + 11) / from_hz, 7 * from_hz + 11
    rows = np.stack([np.sin(2 * np.pi * 997 * time_s), np.cos(2 * np.pi * 7001 * time_s)]) * 0.5
    made = join(convert_blocks(cut(rows), from_hz, to_hz))
    assert made.shape[1] == -(-frames * to_hz // from_hz)
    wished_s = np.arange(made.shape[1]) / to_hz
    wished = np.stack([np.sin(2 * np.pi * 997 * wished_s), np.cos(2 * np.pi * 7001 * wished_s)]) * 0.5
    inside = slice(2000, made.shape[1] - 2000)
    assert np.abs(made - wished)[:, inside].max() < 2e-6
    quiet = noise(2 * from_hz, 0.1, 5).T
    spectrum = np.fft.rfft(quiet)
    spectrum[:, np.fft.rfftfreq(2 * from_hz, 1 / from_hz) > 18000] = 0
    quiet = np.fft.irfft(spectrum, 2 * from_hz)
    other = resample(quiet, 2 * to_hz, axis=1)
    made = join(convert_blocks(cut(quiet), from_hz, to_hz))
    assert np.abs(made - other)[:, 4000:-4000].max() < 1e-5 * np.abs(quiet).max() + 2e-7


def test_a_late_processor_comes_out_in_time() -> None:
    """By construction: a delay of 100 000 frames, undone; as many frames as went in."""
    rows = noise(250000, 0.1, 6).T
    assert np.array_equal(join(run_blocks(Delay(100000), cut(rows))), rows)


def test_trimming_and_one_channel() -> None:
    """By construction: frames 5 to 200 000; a mono file is on both sides."""
    rows = noise(250000, 0.1, 7).T[:1].astype(np.float32)
    made = join(trim_blocks(cut(rows), 5, 200000))  # type: ignore[arg-type]
    assert np.array_equal(made, np.repeat(rows[:, 5:200000], 2, axis=0))


@pytest.mark.parametrize("fade_out_s", [0.0, 0.0001, 0.7, 2.0])
def test_a_fade_block_by_block(fade_out_s: float) -> None:
    """Closed form: raised cosines, (1 − cos πx) / 2 at the middles of the frames."""
    frames = 3 * RATE_HZ
    made = join(fade_blocks(cut(np.ones((2, frames))), frames, Fades(0, 0.5, None, fade_out_s), RATE_HZ))
    head, tail = RATE_HZ // 2, round(fade_out_s * RATE_HZ)
    wished = np.ones(frames)
    wished[:head] *= 0.5 - 0.5 * np.cos(np.pi * (np.arange(head) + 0.5) / head)
    wished[frames - tail :] *= (0.5 - 0.5 * np.cos(np.pi * (np.arange(tail) + 0.5) / max(tail, 1)))[::-1]
    assert np.abs(made - wished).max() < 1e-12


@pytest.mark.parametrize("bits", [16, 24])
def test_dither_has_its_known_power_whatever_the_signal(bits: int) -> None:
    """Lipshitz, Wannamaker and Vanderkooy, JAES 40(5), 1992: mean 0, a quarter of a step squared, at every level."""
    step = 2.0 ** (1 - bits)
    for level in (0.0, 0.25, 0.5, 0.9):
        rows = np.full((2, 400000), level * step + 100 * step)
        error = join(round_blocks(cut(rows), bits, np.random.default_rng(1))) - rows / step  # type: ignore[arg-type]
        assert abs(error.mean()) < 4 * 0.5 / np.sqrt(error.size)
        assert error.var() == pytest.approx(0.25, rel=0.01)


def test_rounding_does_not_depend_on_the_blocks_and_never_wraps() -> None:
    """By construction: the same numbers in other blocks; full scale stays at the last number there is."""
    rows = noise(200000, 0.2, 8).T
    one, other = (join(round_blocks(cut(rows, s), 16, np.random.default_rng(9))) for s in (1, 2))  # type: ignore[arg-type]
    assert np.array_equal(one, other)
    ends = join(round_blocks(iter([np.array([[1.2, -1.2]] * 2)]), 16, np.random.default_rng(9)))  # type: ignore[arg-type]
    assert ends.tolist() == [[32767, -32768]] * 2


def test_regrouping() -> None:
    """By construction: the same sound, every block but the last of one length."""
    rows = noise(250000, 0.1, 9).T
    blocks = list(regroup_blocks(cut(rows), 24000))
    assert np.array_equal(np.concatenate(blocks, axis=1), rows)
    assert {block.shape[1] for block in blocks[:-1]} == {24000}


def test_a_drive_is_put_right_in_few_steps() -> None:
    """Closed form: loudness that rises ever more slowly, −18 + 10 (1 − e^(−d/8)) LUFS; −12 is at d = 7.33 dB."""
    drives = [(3.0, -18 + 10 * (1 - np.exp(-3 / 8)))]
    for _ in range(4):
        drive = correct_drive(drives, -12.0, -60, 90)
        drives.append((drive, -18 + 10 * (1 - np.exp(-drive / 8))))
    assert drives[-1][0] == pytest.approx(-8 * np.log(0.4), abs=0.05)
    assert correct_drive([(80.0, -12.0)], -6.0, -60, 82.0) == 82.0


def test_turning_down() -> None:
    """By construction: what is not 0.02 dB below a ceiling is brought there, and nothing is turned up."""
    assert find_turn_down(-1.02, -1.0) == pytest.approx(0.0) and find_turn_down(-9.0, -1.0) == 0.0
    assert find_turn_down(-1.0, -1.0) == pytest.approx(-0.02) and find_turn_down(-1.015, -1.0) < 0
    assert find_turn_down(0.5, -1.0) == pytest.approx(-1.52)


def test_words_say_how_near_and_why_not() -> None:
    """By construction: near, turned down, out of reach, another version; real minus signs."""
    plan = plan_bounce(make_sheet(delivery=Delivery()), FORM, ".wav")
    near = BounceFigures(-11.95, -1.05, 6.3, 0.0)
    assert word_bounce(plan, near)[0] == "Loudness −11.9 LUFS, within 0.2 dB of the sheet's −12.0 LUFS (+0.04 LU)."
    turned = word_bounce(plan, replace(near, loudness_lufs=-12.3, gain_db=-0.3))[0]
    assert turned.endswith("0.3 LU under the sheet's −12.0 LUFS: it was turned down by 0.3 dB to keep the ceiling.")
    beyond = word_bounce(plan, BounceFigures(-13.0, -1.05, 90.0, 0.0))
    assert "cannot be had" in beyond[0] and "+90.00 dB was used" in beyond[2]
    version = word_bounce(plan, replace(near, version_of="low_tide.wav"))
    assert "nothing was solved again, drive +6.30 dB" in version[2]
    assert not any("-" in line for line in (*beyond, *version))


def test_costs_that_the_file_shows_are_compared() -> None:
    """By construction: 9.1 dB where the sheet says 9.2, and 7.0 where it says 8.5; of a version nothing is asked."""
    loudness = make_sheet().loudness
    costs = {"peak_to_loudness_db": 9.2, "short_term_dynamics_db": 8.5}
    rungs = tuple(replace(rung, costs=costs) for rung in loudness.rungs)
    plan = plan_bounce(make_sheet(loudness=replace(loudness, rungs=rungs)), FORM, ".wav")
    figures = BounceFigures(-12.0, -1.1, 6.3, 0.0, "", {"peak_to_loudness_db": 9.1, "short_term_dynamics_db": 7.0})
    lines = word_bounce(plan, figures)
    assert lines[2] == "Peaks over loudness 9.1 dB, within 0.2 dB of the sheet's 9.2 dB (−0.10 dB)."
    assert lines[3] == "Peaks over loudness of 3 s, median 7.0 dB, 1.5 dB under the sheet's 8.5 dB."
    assert not any("Peaks" in line for line in word_bounce(plan, replace(figures, version_of="mix.wav")))
