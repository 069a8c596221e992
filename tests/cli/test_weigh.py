"""`weigh` from outside: keys, offsets, gains, differences, copies, bad files, and exit statuses."""

from __future__ import annotations

import json
import struct
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np
import pytest
import soundfile
from scipy.signal import resample

from tests.cli.inside import Done
from tests.measure.meters import ebur128_dbtp, ebur128_lufs
from tests.measure.recordings import RATE_HZ, cut_song, put_silence_before

FILE_KEYS = {
    "file", "offset_samples", "polarity", "swapped", "rate_converted", "integrated_lufs", "gain_db", "true_peak_dbtp",
    "correlation",
}  # fmt: skip
DIFFERENCE_KEYS = {"a", "b", "residual_db", "bands", "peak_to_loudness_difference_db"}
SONG = cut_song("quarter_past_the_breakwater", 20.0, 9.0)


@pytest.fixture
def call(call: Callable[..., Done]) -> Callable[..., Done]:
    """Carry `weigh` out in this process."""
    return partial(call, "weigh")


@pytest.fixture(scope="module")
def bounces(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Write a song and what a person may have made of it."""
    folder = tmp_path_factory.mktemp("bounces")
    made = {
        "mix": SONG,
        "late": put_silence_before(-0.5 * SONG[:, ::-1], 480),
        "loud": np.tanh(5 * SONG) * 0.9,
    }
    for name, samples in made.items():
        soundfile.write(folder / f"{name}.wav", samples, RATE_HZ, subtype="PCM_24")
    slow = resample(SONG.astype(np.float64), round(SONG.shape[0] * 44100 / RATE_HZ), axis=0)
    soundfile.write(folder / "slow.flac", np.clip(slow, -1, 1), 44100, subtype="PCM_24")
    return {path.stem: path for path in folder.iterdir()}


def test_it_gives_every_key_and_what_was_done(call: Callable[..., Done], bounces: dict[str, Path]) -> None:
    """By construction: 480 samples late, upside down, sides crossed, 6 dB softer; another rate; saturated."""
    done = call("--json", *(bounces[name] for name in ("mix", "late", "slow", "loud")))
    assert done.returncode == 0 and done.stderr == ""
    facts = json.loads(done.stdout)
    assert all(set(file) >= FILE_KEYS for file in facts["files"])
    assert all(set(found) >= DIFFERENCE_KEYS for found in facts["differences"]) and len(facts["differences"]) == 6
    mix, late, slow, loud = facts["files"]
    assert mix["offset_samples"] == 0 and mix["polarity"] == 1 and not mix["swapped"]
    assert late["offset_samples"] == pytest.approx(480, abs=0.01)
    assert (late["polarity"], late["swapped"], late["rate_converted"]) == (-1, True, False)
    assert slow["offset_samples"] == pytest.approx(0, abs=0.5) and slow["rate_converted"]
    assert loud["offset_samples"] == pytest.approx(0, abs=0.5) and loud["gain_db"] < mix["gain_db"]
    assert late["gain_db"] - mix["gain_db"] == pytest.approx(20 * np.log10(2), abs=0.01)
    assert facts["spread_lu"] <= 0.01
    assert facts["stretch"]["end_s"] - facts["stretch"]["start_s"] == pytest.approx(8.0)
    for file, path in zip(facts["files"], ("mix", "late", "slow", "loud"), strict=True):
        samples, rate_hz = soundfile.read(bounces[path])
        assert file["integrated_lufs"] == pytest.approx(ebur128_lufs(samples, rate_hz), abs=0.1)
        assert file["true_peak_dbtp"] == pytest.approx(ebur128_dbtp(samples, rate_hz), abs=0.3)
    same = facts["differences"][0]
    assert (same["a"], same["b"]) == (str(bounces["mix"]), str(bounces["late"]))
    assert same["same_apart_from_level"] and same["residual_db"] < -80
    # The spectrum's own resampling changes nothing but what 44.1 kHz cannot hold.
    assert facts["differences"][1]["same_apart_from_level"] and facts["differences"][1]["residual_db"] < -66
    assert facts["differences"][2]["peak_to_loudness_difference_db"] < -1


def test_the_copies_are_equally_loud(call: Callable[..., Done], bounces: dict[str, Path], tmp_path: Path) -> None:
    """Outside meter: libebur128 on the copies, tiled: 0.05 LU, −1 dBTP; and nothing is overwritten unasked."""
    out = tmp_path / "new" / "copies"
    files = [bounces[name] for name in ("mix", "loud")]
    done = call("--json", *files, "--out", out, "--start", "3", "--length", "4")
    assert done.returncode == 0
    assert json.loads(done.stdout)["stretch"] == {"start_s": 3.0, "end_s": 7.0}
    copies = [out / "1_mix.wav", out / "2_loud.wav"]
    assert sorted(out.iterdir()) == copies
    assert {soundfile.info(path).subtype for path in copies} == {"FLOAT"}
    sounds = [np.tile(soundfile.read(path, always_2d=True)[0], (8, 1)) for path in copies]
    loudness = [ebur128_lufs(sound, RATE_HZ) for sound in sounds]
    assert abs(loudness[0] - loudness[1]) <= 0.05 and sounds[0].shape == (8 * 4 * RATE_HZ, 2)
    assert max(ebur128_dbtp(sound, RATE_HZ) for sound in sounds) <= -1.0
    before = copies[0].read_bytes()
    again = call(*files, "--out", out, "--start", "4", "--length", "4")
    assert again.returncode == 2 and "--force overwrites" in again.stderr and copies[0].read_bytes() == before
    forced = call(*files, "--out", out, "--start", "4", "--length", "4", "--force")
    assert forced.returncode == 0 and copies[0].read_bytes() != before


def test_it_speaks(call: Callable[..., Done], bounces: dict[str, Path]) -> None:
    """Without --json, sentences."""
    done = call(bounces["mix"], bounces["late"])
    assert done.returncode == 0
    assert "480 samples (10.00 ms) later" in done.stdout and "Upside down" in done.stdout
    assert "is the same as mix.wav apart from level" in done.stdout and " -" not in done.stdout


def test_another_song_is_refused_with_the_figure(
    call: Callable[..., Done], bounces: dict[str, Path], tmp_path: Path
) -> None:
    """One line, status 2; the two that are one song are answered."""
    soundfile.write(tmp_path / "other.wav", cut_song("slack_water_voltage", 8.0, 9.0), RATE_HZ)
    done = call("--json", bounces["mix"], tmp_path / "other.wav")
    assert done.returncode == 2 and done.stdout == ""
    assert done.stderr.count("\n") == 1 and done.stderr.startswith("other.wav: correlation=0.0")
    done = call("--json", bounces["mix"], tmp_path / "other.wav", bounces["late"])
    assert done.returncode == 2 and done.stderr.count("\n") == 1
    assert [Path(file["file"]).stem for file in json.loads(done.stdout)["files"]] == ["mix", "late"]


def test_bad_files_do_not_stop_the_rest(call: Callable[..., Done], bounces: dict[str, Path], tmp_path: Path) -> None:
    """One line on standard error for each: no sound, mono, too short, silent, twice, two hours."""
    bad = make_bad_files(tmp_path)
    done = call("--json", bounces["mix"], *bad, bounces["mix"], bounces["late"])
    assert done.returncode == 2
    assert [Path(file["file"]).stem for file in json.loads(done.stdout)["files"]] == ["mix", "late"]
    lines = done.stderr.strip().splitlines()
    assert len(lines) == len(bad) + 1 and all(", expected " in line for line in lines)
    for name in ("text.wav", "mono.wav: channels=1", "short.wav", "silent.wav", "hours.wav"):
        assert sum(name in line for line in lines) == 1, name
    assert any("each file once" in line for line in lines)


def make_bad_files(folder: Path) -> list[Path]:
    """Make files that cannot be put on the beam: each for another reason."""
    paths = {name: folder / f"{name}.wav" for name in ("text", "mono", "short", "silent")}
    paths["text"].write_text("not sound at all")
    soundfile.write(paths["mono"], SONG[:, :1], RATE_HZ)
    soundfile.write(paths["short"], SONG[: 3 * RATE_HZ], RATE_HZ)
    soundfile.write(paths["silent"], np.zeros_like(SONG), RATE_HZ)
    return [*paths.values(), make_two_hours(folder / "hours.wav")]


def make_two_hours(path: Path) -> Path:
    """Make a file of two hours that takes no room on the disk: 8 kHz, 8 bit, two channels."""
    size = 2 * 3600 * 8000 * 2
    form = struct.pack("<4sIHHIIHH", b"fmt ", 16, 1, 2, 8000, 16000, 2, 8)
    path.write_bytes(b"RIFF" + struct.pack("<I", 36 + size) + b"WAVE" + form + b"data" + struct.pack("<I", size))
    with path.open("r+b") as file:
        file.truncate(44 + size)
    return path


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (("mix",), "weigh: files=1, expected 2 to 8"),
        (("mix", "late") * 4 + ("loud",), "weigh: files=9, expected 2 to 8"),
        (("mix", "mix"), "each file once"),
        (("mix", "late", "--length", "3"), "weigh: --length=3.0, expected 4 to 60 s"),
        (("mix", "late", "--start", "-1"), "weigh: --start=-1.0, expected 0 s or more"),
    ],
)
def test_what_cannot_be_done_is_one_line(
    call: Callable[..., Done], bounces: dict[str, Path], arguments: tuple[str, ...], line: str
) -> None:
    """Status 2, nothing on standard output."""
    done = call(*(bounces.get(argument, argument) for argument in arguments))
    assert done.returncode == 2 and done.stdout == ""
    assert line in done.stderr and done.stderr.count("\n") == 1


def test_a_stretch_that_a_file_does_not_hold(call: Callable[..., Done], bounces: dict[str, Path]) -> None:
    """Beyond the end: a line for each file; nothing else."""
    done = call("--json", bounces["mix"], bounces["late"], "--start", "40")
    assert done.returncode == 2 and done.stdout == ""
    assert all("expected all of 40 to" in line for line in done.stderr.strip().splitlines())


def test_two_mono_files_are_compared(call: Callable[..., Done], tmp_path: Path) -> None:
    """Mono is refused among stereo only."""
    for name, gain in (("one", 1.0), ("two", 0.5)):
        soundfile.write(tmp_path / f"{name}.wav", gain * SONG[:, :1], RATE_HZ, subtype="PCM_24")
    done = call("--json", tmp_path / "one.wav", tmp_path / "two.wav")
    assert done.returncode == 0 and json.loads(done.stdout)["differences"][0]["same_apart_from_level"]
