"""Masters made from sheets: loudness, peaks, filters, dither and forms against outside meters and closed forms."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
import soundfile
from scipy.signal import freqs

from tests.decisions.sheets import MIX, make_candidate
from tests.measure.meters import ebur128_dbtp, ebur128_lufs, ffmpeg_dbtp, ffmpeg_ebur128
from tests.measure.recordings import RATE_HZ, cut_song
from trainer.app.bounce_passes import Watch
from trainer.app.bouncing import BounceResult, BounceWish, bounce_sheet, check_against_sheet, list_bounce
from trainer.app.conditions import Conditions
from trainer.decisions.bounce import Stopped
from trainer.decisions.sheet import Aim, Candidate, Fades, Loudness, Rung, Sheet
from trainer.dsp.moves import MOVES
from trainer.errors import BadValue
from trainer.files.sound_reading import hash_file

SONG = cut_song("quarter_past_the_breakwater", 20.0, 9.0)
LIMITER = {"ceiling_dbtp": -1.0, "release_ms": 60.0, "slow_release_ms": 300.0, "clip_over_db": 1.0}
Samples = npt.NDArray[np.floating]


def keep(move: str, **settings: float) -> Candidate:
    """Make a kept candidate."""
    full = {parameter.name: parameter.default for parameter in MOVES[move].parameters}
    return make_candidate(move, move, settings=full | settings, decision="keep")


def push_to(lufs: float, drive_db: float, **settings: float) -> Loudness:
    """Choose one rung."""
    return Loudness((Rung(lufs, lufs, drive_db),), 0, LIMITER | settings)


@pytest.fixture
def bounce(tmp_path: Path) -> Callable[..., BounceResult]:
    """Write a mix, and make a master of it."""
    written: list[Samples] = []

    def make(samples: Samples, out: str = "out.wav", rate_hz: int = RATE_HZ, **parts: Any) -> BounceResult:
        path = tmp_path / "mix.wav"
        # A float WAV's head holds the time of day: written once, it is one file.
        if not written or written[-1] is not samples:
            soundfile.write(path, samples, rate_hz, subtype="FLOAT")
            written.append(samples)
        wish = {name: parts.pop(name) for name in ("rate_hz_out", "bit_depth", "force") if name in parts}
        watch = parts.pop("watch", None)
        mix = replace(
            MIX, path=str(path), sha256=hash_file(path), sample_rate_hz=rate_hz, duration_s=samples.shape[0] / rate_hz
        )
        asked = BounceWish(str(tmp_path / out), wish.get("rate_hz_out"), wish.get("bit_depth"), None, True)
        sheet = Sheet("Low tide", mix, "2026-11-27", **parts)
        return bounce_sheet(Conditions(str(tmp_path / "data")), sheet, path, asked, None, watch)

    return make


def read(result: BounceResult) -> tuple[npt.NDArray[np.float64], int]:
    """Read what was made."""
    return soundfile.read(result.bounced.path, always_2d=True)  # type: ignore[no-any-return]


@pytest.mark.parametrize(
    ("out", "rate_hz", "bit_depth", "subtype"),
    [
        ("out.wav", 48000, 16, "PCM_16"),
        ("out.flac", 44100, 24, "PCM_24"),
        ("out.wav", 96000, 32, "FLOAT"),
    ],
)
def test_loudness_and_ceiling_hold_on_every_meter(
    bounce: Callable[..., BounceResult], out: str, rate_hz: int, bit_depth: int, subtype: str
) -> None:
    """libebur128 and ffmpeg: within 0.1 LU of the rung, true peak under the ceiling; soundfile names the form."""
    result = bounce(
        SONG, out, rate_hz_out=rate_hz, bit_depth=bit_depth, loudness=push_to(-9.0, 5.0),
        candidates=(keep("high_pass"), keep("low_shelf", gain_db=1.0), keep("compressor", threshold_dbfs=-16.0)),
    )  # fmt: skip
    info = soundfile.info(result.bounced.path)
    assert (info.subtype, info.samplerate, info.channels) == (subtype, rate_hz, 2)
    assert info.frames == -(-SONG.shape[0] * rate_hz // RATE_HZ)
    samples, _ = read(result)
    assert ebur128_lufs(samples, rate_hz) == pytest.approx(-9.0, abs=0.1)
    assert ffmpeg_ebur128(samples, rate_hz)["I"] == pytest.approx(-9.0, abs=0.1001)
    assert ebur128_dbtp(samples, rate_hz) <= -1.0 and ffmpeg_dbtp(samples, rate_hz) <= -1.0
    assert result.bounced.integrated_lufs == pytest.approx(ebur128_lufs(samples, rate_hz), abs=0.02)
    assert result.figures.drive_db != 5.0 and any("was used" in line for line in result.words)
    assert "within 0.2 dB of the sheet's −9.0 LUFS" in result.words[0]


def test_a_drive_that_is_right_is_kept_and_the_file_is_the_same_twice(bounce: Callable[..., BounceResult]) -> None:
    """By construction: the drive of the first bounce on the second sheet stays; the file is the same, bit for bit."""
    first = bounce(SONG, loudness=push_to(-10.0, 3.0), bit_depth=32)
    drive = first.figures.drive_db
    assert drive is not None
    for bit_depth, out in ((16, "a.wav"), (24, "b.flac"), (32, "c.wav")):
        made = [bounce(SONG, out, loudness=push_to(-10.0, drive), bit_depth=bit_depth) for _ in range(2)]
        assert made[0].figures.drive_db == drive and made[0].bounced.sha256 == made[1].bounced.sha256
    assert first.bounced.sha256 == made[0].bounced.sha256


def test_a_loudness_that_cannot_be_had_is_told(bounce: Callable[..., BounceResult]) -> None:
    """By construction: a limiter without clipper does not bring this song to −4 LUFS; the ceiling holds."""
    loudness = replace(push_to(-4.0, 12.0), settings={k: v for k, v in LIMITER.items() if k != "clip_over_db"})
    result = bounce(SONG, loudness=loudness)
    samples, _ = read(result)
    assert "cannot be had" in result.words[0]
    assert ebur128_lufs(samples, RATE_HZ) < -4.5 and ebur128_dbtp(samples, RATE_HZ) <= -1.0


def test_a_drive_is_put_right_as_far_as_it_does_something(bounce: Callable[..., BounceResult]) -> None:
    """libebur128: what a limiter can just reach is met within 0.1 LU; out of reach, 8 dB more would give no 0.02 LU."""
    samples = SONG[: int(4.5 * RATE_HZ)]
    alone = {name: value for name, value in LIMITER.items() if name != "clip_over_db"}
    near, beyond = (bounce(samples, loudness=replace(push_to(at, 3.0), settings=alone)) for at in (-8.97, -8.0))
    reached = ebur128_lufs(read(beyond)[0], RATE_HZ)
    drive = beyond.figures.drive_db
    assert drive is not None and drive < 18.0
    kept = bounce(samples, loudness=replace(push_to(reached, drive + 8.0), settings=alone))
    assert kept.figures.drive_db == drive + 8.0
    assert ebur128_lufs(read(kept)[0], RATE_HZ) - reached < 0.02
    assert near.bounced.integrated_lufs == pytest.approx(-8.97, abs=0.1)


def low_shelf_db(frequencies: Samples, corner_hz: float, gain_db: float) -> Samples:
    """Audio EQ Cookbook (W3C 2021), low shelf, S = 1: A (s² + √A/Q s + A) / (A s² + √A/Q s + 1), Q = 1/√2."""
    a = 10 ** (gain_db / 40)
    middle = np.sqrt(2 * a)
    return _analogue_db([a, a * middle, a * a], [a, middle, 1], frequencies / corner_hz)


def bell_db(frequencies: Samples, centre_hz: float, gain_db: float, q: float) -> Samples:
    """Audio EQ Cookbook (W3C 2021), peaking: (s² + s A/Q + 1) / (s² + s/(A Q) + 1)."""
    a = 10 ** (gain_db / 40)
    return _analogue_db([1, a / q, 1], [1, 1 / (a * q), 1], frequencies / centre_hz)


def high_pass_db(frequencies: Samples, cutoff_hz: float) -> Samples:
    """Butterworth of second order: s² / (s² + √2 s + 1)."""
    return _analogue_db([1, 0, 0], [1, np.sqrt(2), 1], frequencies / cutoff_hz)


def _analogue_db(numerator: list[float], denominator: list[float], ratios: Samples) -> Samples:
    return 20 * np.log10(np.abs(freqs(numerator, denominator, worN=ratios)[1]))


def test_kept_filters_are_in_the_file(bounce: Callable[..., BounceResult]) -> None:
    """scipy's analogue responses of the published prototypes; read on the file from an impulse; 0.1 dB to 10 kHz."""
    impulse = np.zeros((3 * RATE_HZ, 2))
    impulse[RATE_HZ] = 0.25
    result = bounce(
        impulse, bit_depth=32,
        candidates=(
            keep("bell", centre_hz=3000.0, centre_gain_db=-1.5, bell_q=0.8), keep("high_pass", cutoff_hz=25.0),
            keep("low_shelf", corner_hz=120.0, gain_db=1.2),
        ),
    )  # fmt: skip
    samples, _ = read(result)
    frequencies = np.geomspace(20, 10000, 200)
    turns = np.exp(-2j * np.pi * np.outer(frequencies, np.arange(3 * RATE_HZ) / RATE_HZ))
    found = 20 * np.log10(np.abs(turns @ samples) / 0.25)
    wished = (
        low_shelf_db(frequencies, 120.0, 1.2)
        + bell_db(frequencies, 3000.0, -1.5, 0.8)
        + high_pass_db(frequencies, 25.0)
    )
    assert np.abs(found - wished[:, None]).max() < 0.1
    assert result.figures.gain_db == 0.0 and "no loudness is chosen" in result.words[0]


def test_dither_is_the_only_difference_between_word_lengths(bounce: Callable[..., BounceResult]) -> None:
    """Lipshitz, Wannamaker and Vanderkooy, JAES 40(5), 1992: error of mean 0 and a quarter of a step squared."""
    exact, _ = read(bounce(SONG, bit_depth=32, loudness=push_to(-10.0, 8.0)))
    for bits in (16, 24):
        made, _ = read(bounce(SONG, f"{bits}.flac", bit_depth=bits, loudness=push_to(-10.0, 8.0)))
        error = (made - exact) * 2 ** (bits - 1)
        # Single precision of the exact file is itself a twelfth of a step of 24 bits or less.
        assert error.var() == pytest.approx(0.25, rel=0.02 if bits == 16 else 0.05)
        assert abs(error.mean()) < 0.01
        assert abs(np.corrcoef(error[:, 0], exact[:, 0])[0, 1]) < 0.01


def test_trim_and_fades_are_made_on_the_level(bounce: Callable[..., BounceResult]) -> None:
    """Closed form: the file over the same without fades is the raised cosine; it begins and ends where it was cut."""
    fades = Fades(1.0, 0.2, 8.0, 1.5)
    plain, _ = read(bounce(SONG, bit_depth=32, fades=replace(fades, fade_in_s=0.0, fade_out_s=0.0)))
    faded, _ = read(bounce(SONG, bit_depth=32, fades=fades))
    assert plain.shape == faded.shape == (7 * RATE_HZ, 2)
    assert np.abs(plain - SONG[RATE_HZ : 8 * RATE_HZ]).max() == 0.0
    head, tail = RATE_HZ // 5, 3 * RATE_HZ // 2
    wished = np.ones(7 * RATE_HZ)
    wished[:head] = 0.5 - 0.5 * np.cos(np.pi * (np.arange(head) + 0.5) / head)
    wished[-tail:] = 0.5 + 0.5 * np.cos(np.pi * (np.arange(tail) + 0.5) / tail)
    assert np.abs(faded - plain * wished[:, None]).max() < 1e-7


def test_peaks_over_the_ceiling_are_turned_down_without_a_limiter(bounce: Callable[..., BounceResult]) -> None:
    """Closed form: a sine of amplitude 1.4 (+2.92 dBTP) comes out at −1.02; EBU R 128, item m."""
    time_s = np.arange(3 * RATE_HZ) / RATE_HZ
    edge = np.minimum(1, np.minimum(time_s, 3 - time_s) / 0.05)
    result = bounce(np.repeat((1.4 * edge * np.sin(2 * np.pi * 997 * time_s))[:, None], 2, axis=1))
    samples, _ = read(result)
    assert np.abs(samples).max() == pytest.approx(10 ** (-1.02 / 20), rel=1e-3)
    assert result.figures.gain_db == pytest.approx(-1.02 - 20 * np.log10(1.4), abs=0.01)
    assert any(line.startswith("Turned down by 3.9") for line in result.words)


def test_a_mix_at_another_rate(bounce: Callable[..., BounceResult]) -> None:
    """Closed form: a sine of 96 kHz is the same sine at its own rate and at 44.1 kHz."""
    time_s = np.arange(4 * 96000) / 96000
    wave = 0.3 * np.sin(2 * np.pi * 997 * time_s)
    for rate_hz in (0, 44100):
        result = bounce(np.repeat(wave[:, None], 2, axis=1), rate_hz=96000, rate_hz_out=rate_hz or None, bit_depth=32)
        samples, made_hz = read(result)
        assert made_hz == (rate_hz or 96000)
        wished = 0.3 * np.sin(2 * np.pi * 997 * np.arange(samples.shape[0]) / made_hz)
        assert np.abs(samples - wished[:, None])[3000:-3000].max() < 2e-6
        assert any("Worked at 48.0 kHz" in line for line in result.words) == (rate_hz == 0)


def test_a_version_takes_the_same_gain(tmp_path: Path) -> None:
    """By construction: under the limiter a version at half level comes out 6.02 dB lower; nothing is solved again."""
    mix, version = tmp_path / "mix.wav", tmp_path / "instrumental.wav"
    soundfile.write(mix, SONG, RATE_HZ, subtype="FLOAT")
    soundfile.write(version, 0.5 * SONG, RATE_HZ, subtype="FLOAT")
    own = replace(MIX, path=str(mix), sha256=hash_file(mix), duration_s=9.0)
    quiet = Loudness((Rung(-24.0, -24.0, -8.0),), 0, LIMITER)
    sheet = Sheet("Low tide", own, "2026-11-27", candidates=(keep("bell", centre_gain_db=1.0),), loudness=quiet)
    made = []
    for path, name in ((mix, "a.wav"), (version, "b.wav")):
        wish = BounceWish(str(tmp_path / name), bit_depth=32, mix=str(path))
        made.append(bounce_sheet(Conditions(str(tmp_path)), sheet, path, wish))
    # The mix was driven to its loudness; the version took that drive over, and says so.
    drive = made[0].figures.drive_db
    assert drive is not None and drive != -8.0 and made[0].figures.version_of == ""
    assert made[1].figures.drive_db == drive and made[1].figures.version_of == "mix.wav"
    assert "nothing was solved again" in " ".join(made[1].words)
    half, whole = read(made[1])[0], read(made[0])[0]
    assert np.abs(half - 0.5 * whole).max() < 1e-6
    mix.rename(tmp_path / "elsewhere.wav")
    alone = bounce_sheet(Conditions(str(tmp_path)), sheet, version, BounceWish(str(tmp_path / "c.wav"), mix="there"))
    assert alone.figures.drive_db == -8.0, "without the mix there is only what the sheet says"
    long = tmp_path / "long.wav"
    soundfile.write(long, np.pad(SONG, ((0, 4800), (0, 0))), RATE_HZ, subtype="FLOAT")
    with pytest.raises(BadValue, match=r"duration_s=9.100, expected 9.000, as the mix has"):
        bounce_sheet(Conditions(str(tmp_path)), sheet, long, BounceWish(str(tmp_path / "d.wav"), mix=str(long)))


def test_a_version_made_alone_tells_how_far_the_other_master_has_to_come_down(tmp_path: Path) -> None:
    """libebur128: after the gain that is named the two masters are as far apart in peak as the two mixes are."""
    peak, short = float(np.abs(SONG[: 3 * RATE_HZ]).max()), SONG[: 3 * RATE_HZ]
    mix, version = tmp_path / "mix.wav", tmp_path / "vocal up.wav"
    for path, wished in ((mix, 0.85), (version, 0.999)):
        soundfile.write(path, wished / peak * short, RATE_HZ, subtype="FLOAT")
    sheet = Sheet("Low tide", replace(MIX, path=str(mix), sha256=hash_file(mix), duration_s=3.0), "2026-11-27")
    main, other = (
        bounce_sheet(
            Conditions(str(tmp_path)), sheet, path, BounceWish(str(tmp_path / f"{path.stem}.flac"), mix=str(path))
        )
        for path in (mix, version)
    )
    said = next(line for line in other.words if line.startswith("Turned down by "))
    named = re.search(r"mix.wav, which alone is not turned down, .* turn that master down by (\d\.\d\d) dB", said)
    assert named is not None and not any("Turned down" in line for line in main.words)
    apart = ebur128_dbtp(read(other)[0], RATE_HZ) - (ebur128_dbtp(read(main)[0], RATE_HZ) - float(named[1]))
    assert apart == pytest.approx(20 * np.log10(0.999 / 0.85), abs=0.02)


@pytest.mark.parametrize("at", [0.0, 0.3, 0.5, 0.8])
def test_stopped_anywhere_nothing_is_left(bounce: Callable[..., BounceResult], tmp_path: Path, at: float) -> None:
    """By construction: stopped at a fraction of the way, the folder holds the mix and what was there before."""
    (tmp_path / "out.wav").write_bytes(b"before")
    far: list[float] = []
    watch = Watch(lambda fraction, words: far.append(fraction), lambda: bool(far) and far[-1] >= at)
    with pytest.raises(Stopped) as caught:
        bounce(SONG, loudness=push_to(-10.0, 8.0), watch=watch)
    assert str(caught.value) == "bounce: stopped; nothing was written"
    assert (tmp_path / "out.wav").read_bytes() == b"before"
    assert {path.name for path in tmp_path.iterdir()} == {"mix.wav", "out.wav"}


def test_progress_goes_forward(bounce: Callable[..., BounceResult]) -> None:
    """By construction: fractions of 0–1 that never fall, with what is done."""
    told: list[tuple[float, str]] = []
    bounce(SONG, loudness=push_to(-10.0, 4.0), watch=Watch(lambda *each: told.append(each)))
    fractions = [fraction for fraction, _ in told]
    assert fractions == sorted(fractions) and fractions[0] == 0.0 and fractions[-1] == 1.0
    assert list(dict.fromkeys(words for _, words in told)) == [
        "making the moves", "limiting", "writing the file", "checking the file", "done",
    ]  # fmt: skip


def test_targets_judge_the_file(bounce: Callable[..., BounceResult]) -> None:
    """IEC 60908: a disc takes 44.1 kHz and 16 bit, and no other."""
    aim = Aim(targets=("cd", "streaming"))
    right = bounce(SONG, aim=aim, rate_hz_out=44100, bit_depth=16, loudness=push_to(-12.0, 6.0))
    wrong = bounce(SONG, aim=aim, bit_depth=24, loudness=push_to(-12.0, 6.0))
    misses = [v["rule"] for v in wrong.checks[0]["verdicts"] if v["verdict"] == "fail"]
    assert [check["target"] for check in right.checks] == ["cd", "streaming"]
    assert {"sample_rate_hz", "bit_depth"} <= set(misses) and wrong.failed and wrong.bounced.verdict == "fail"
    held = {v["rule"]: v["verdict"] for v in right.checks[0]["verdicts"]}
    assert held["sample_rate_hz"] == held["bit_depth"] == held["true_peak_dbtp"] == "pass"
    facts = list_bounce(right)
    assert facts["sample_rate_hz"] == 44100 and facts["verdict"] == right.bounced.verdict


def test_a_file_made_elsewhere_is_held_against_the_sheet(tmp_path: Path) -> None:
    """By construction: 0.5 dB softer, a second shorter and of another form than the sheet says; libebur128 reads it."""
    lufs = ebur128_lufs(SONG, RATE_HZ)
    soundfile.write(tmp_path / "other.wav", 10 ** (-0.5 / 20) * SONG[: 8 * RATE_HZ], RATE_HZ, subtype="PCM_16")
    mix = replace(MIX, duration_s=9.0)
    sheet = Sheet("Low tide", mix, "2026-11-27", Aim(targets=("streaming",)), loudness=push_to(lufs, 0.0))
    result = check_against_sheet(Conditions(str(tmp_path / "data")), sheet, tmp_path / "other.wav")
    assert result.plan is None and result.bounced.bit_depth == 16 and result.checks[0]["target"] == "streaming"
    away = ebur128_lufs(soundfile.read(tmp_path / "other.wav")[0], RATE_HZ) - lufs
    assert f"{abs(away):.1f} LU under the sheet's" in result.words[0]
    assert "1.00 s shorter than on the sheet" in result.words[2]
    assert result.words[3] == "Form WAV, 48000 Hz, 16 bit; the sheet says 48000 Hz, 24 bit."
    soundfile.write(tmp_path / "silent.wav", np.zeros((RATE_HZ, 2)), RATE_HZ)
    with pytest.raises(BadValue, match="integrated_lufs=−∞"):
        check_against_sheet(Conditions(str(tmp_path / "data")), sheet, tmp_path / "silent.wav")
