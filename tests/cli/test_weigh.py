"""`weigh` from outside: keys, offsets, gains, differences, copies, bad files, and exit statuses."""

from __future__ import annotations

import hashlib
import json
import shutil
import struct
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np
import pytest
import soundfile
from scipy.signal import resample

from tests.cli.inside import Done
from tests.decisions.test_rounds import begin, tell
from tests.measure.meters import ebur128_dbtp, ebur128_lufs
from tests.measure.recordings import RATE_HZ, cut_song, put_silence_before
from trainer.app import weighing
from trainer.app.desk import WorkDesk
from trainer.app.version_checking import check_version_files
from trainer.app.weighing import WeighWish, weigh_files
from trainer.decisions.beam import BeamJob, PageJob
from trainer.decisions.bounces import Bounce
from trainer.decisions.version_check_words import word_version_check
from trainer.decisions.weighing import StretchWish
from trainer.errors import BadValue, EvenhandError
from trainer.files.notebook import RoundFile

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


def test_a_file_shorter_than_the_stretch(call: Callable[..., Done], bounces: dict[str, Path], tmp_path: Path) -> None:
    """By construction: 5 s of the song, first and last among the named; a line for it, the other two are answered."""
    soundfile.write(tmp_path / "brief.wav", SONG[: 5 * RATE_HZ], RATE_HZ, subtype="PCM_24")
    good = [bounces["mix"], bounces["loud"]]
    for files in ((tmp_path / "brief.wav", *good), (*good, tmp_path / "brief.wav")):
        for wish in (("--start", "0.5", "--length", "8"), ("--length", "8")):
            done = call("--json", *files, *wish)
            assert done.returncode == 2 and done.stderr.count("\n") == 1
            assert done.stderr.startswith("brief.wav: holds_s=0.00 to 5.00, expected ")
            assert [Path(file["file"]).stem for file in json.loads(done.stdout)["files"]] == ["mix", "loud"]
    # Left to itself it takes what all have in common.
    done = call("--json", tmp_path / "brief.wav", *good)
    stretch = json.loads(done.stdout)["stretch"]
    assert done.returncode == 0 and stretch["end_s"] - stretch["start_s"] == pytest.approx(5.0)


def test_silence_where_the_others_sound(call: Callable[..., Done], bounces: dict[str, Path], tmp_path: Path) -> None:
    """By construction: one is muted for 5 s; on a stretch in these it is left out by name."""
    muted = SONG.copy()
    muted[2 * RATE_HZ : 7 * RATE_HZ] = 0
    soundfile.write(tmp_path / "muted.wav", muted, RATE_HZ, subtype="PCM_24")
    done = call("--json", bounces["mix"], tmp_path / "muted.wav", bounces["loud"], "--start", "2.5", "--length", "4")
    assert done.returncode == 2 and done.stderr.count("\n") == 1
    assert done.stderr.startswith("muted.wav: loudness_lufs=−∞, expected sound above −70 LUFS between 2.50 and 6.50 s")
    assert len(json.loads(done.stdout)["files"]) == 2


def test_files_that_cannot_be_read(call: Callable[..., Done], bounces: dict[str, Path], tmp_path: Path) -> None:
    """A line for each: none there, a folder, nothing in it, a head without its sound."""
    (tmp_path / "folder.wav").mkdir()
    (tmp_path / "empty.wav").write_bytes(b"")
    (tmp_path / "head.wav").write_bytes(bounces["mix"].read_bytes()[:60])
    bad = [tmp_path / f"{name}.wav" for name in ("absent", "folder", "empty", "head")]
    done = call("--json", bad[0], bounces["mix"], *bad[1:], bounces["late"])
    assert done.returncode == 2 and "Traceback" not in done.stderr
    assert [Path(file["file"]).stem for file in json.loads(done.stdout)["files"]] == ["mix", "late"]
    lines = done.stderr.strip().splitlines()
    assert len(lines) == len(bad) and all(", expected " in line for line in lines)
    assert all(sum(path.name in line for line in lines) == 1 for path in bad)


def test_nothing_is_read_of_what_its_head_rules_out(
    monkeypatch: pytest.MonkeyPatch, call: Callable[..., Done], bounces: dict[str, Path], tmp_path: Path
) -> None:
    """Two hours, mono among stereo, and a file named twice are refused before any sound is decoded."""
    read: list[str] = []
    plain = weighing.read_bounce

    def note(path: str, rate_hz: int, heard: Callable[[int], None]) -> Bounce:
        read.append(Path(path).stem)
        return plain(path, rate_hz, heard)

    monkeypatch.setattr(weighing, "read_bounce", note)
    soundfile.write(tmp_path / "mono.wav", SONG[:, :1], RATE_HZ)
    hours = make_two_hours(tmp_path / "hours.wav")
    done = call("--json", bounces["mix"], hours, bounces["mix"], tmp_path / "mono.wav", bounces["late"])
    assert done.returncode == 2 and sorted(read) == ["late", "mix"] and done.stderr.count("\n") == 3
    assert "hours.wav: duration_s=7200, expected at most 1800 s" in done.stderr


def test_a_file_that_vanishes_between_two_jobs(bounces: dict[str, Path], tmp_path: Path) -> None:
    """By construction: one of three is gone when another stretch is asked for, then a second one."""
    files = [Path(shutil.copy(bounces[name], tmp_path)) for name in ("mix", "late", "loud")]
    desk, job = WorkDesk(str(tmp_path)), BeamJob(tuple(map(str, files)), 0.0, 4.0)
    assert len(desk.do(job, tell_nobody).names) == 3
    files[2].unlink()
    for again in (replace(job, start_s=2.0), job):
        beam = desk.do(again, tell_nobody)
        assert beam.names == ("mix.wav", "late.wav") and len(beam.left_out) == 1
        assert beam.left_out[0].endswith("loud.wav, expected a file that exists")
    page = desk.do(PageJob(job, str(tmp_path / "page.html")), tell_nobody)
    assert "Not on the beam" in Path(page).read_text(encoding="utf-8")
    files[1].unlink()
    with pytest.raises(EvenhandError) as refused:
        desk.do(job, tell_nobody)
    lines = str(refused.value).splitlines()
    assert len(lines) == 2 and all(", expected " in line for line in lines)


def tell_nobody(fraction: float, words: str) -> None:
    """Take in how far the work is."""
    assert 0 <= fraction <= 1 and words


def test_the_page_of_a_weighing(bounces: dict[str, Path], tmp_path: Path) -> None:
    """Rounds that are kept of these files are told, those of others not; nothing is overwritten."""
    files = [str(bounces[name]) for name in ("mix", "loud")]
    hashes = tuple(sorted(hashlib.sha256(Path(file).read_bytes()).hexdigest() for file in files))
    notebook = RoundFile(tmp_path)
    notebook.keep_round(replace(tell(begin("apart"), 13), versions=hashes, round="one"))
    notebook.keep_round(replace(tell(begin("apart"), 3), round="two"))
    wish = WeighWish(files, StretchWish(1.0, 4.0), page=str(tmp_path / "page.html"), data=str(tmp_path))
    assert not weigh_files(wish).errors
    page = (tmp_path / "page.html").read_text(encoding="utf-8")
    assert page.count("of 16 right.") == 1 and "13 of 16 right." in page
    assert page.count("<svg") == 1 and "at −14 LUFS" in page and "mix.wav, loud.wav" in page
    with pytest.raises(BadValue, match="--force overwrites"):
        weigh_files(wish)


def test_versions_of_one_master(bounces: dict[str, Path], tmp_path: Path) -> None:
    """By construction: half a decibel soft and 100 samples short; another song and a mono file get a line each."""
    gain = 10 ** (-0.5 / 20)
    soundfile.write(tmp_path / "soft.wav", gain * SONG[:-100], RATE_HZ, subtype="PCM_24")
    soundfile.write(tmp_path / "other.wav", cut_song("slack_water_voltage", 8.0, 9.0), RATE_HZ)
    soundfile.write(tmp_path / "mono.wav", SONG[:, :1], RATE_HZ)
    others = [str(tmp_path / f"{name}.wav") for name in ("soft", "other", "mono")]
    checked = check_version_files([str(bounces["mix"]), *others, str(bounces["slow"])])
    assert checked.facts is not None and len(checked.errors) == 2
    soft, slow = checked.facts["versions"]
    assert soft["gain_db"] == pytest.approx(-0.5, abs=0.01) and soft["length_difference_samples"] == -100
    assert soft["offset_samples"] == 0 and not soft["fits"] and soft["same_throughout"]
    assert slow["sample_rate_hz"] == 44100 and abs(slow["offset_samples"]) < 0.5 and slow["same_gain"]
    words = "\n".join(word_version_check(checked.facts))
    assert "100 samples (2.08 ms) shorter." in words and "At 44.1 kHz, the main master at 48.0 kHz." in words
    json.dumps(checked.facts)
    with pytest.raises(BadValue, match="files=1"):
        check_version_files([str(bounces["mix"])])
    assert check_version_files([str(tmp_path / "absent.wav"), str(bounces["mix"])]).facts is None


def test_page_and_versions_by_the_command(call: Callable[..., Done], bounces: dict[str, Path], tmp_path: Path) -> None:
    """The same from outside: a page is written, once; versions in words and as JSON; a stranger makes status 2."""
    files, page = [bounces["mix"], bounces["late"]], tmp_path / "new" / "page.html"
    assert call(*files, "--page", page).returncode == 0 and "late.wav against mix.wav" in page.read_text("utf-8")
    again = call(*files, "--page", page)
    assert again.returncode == 2 and "--force overwrites" in again.stderr
    said = call("--versions", *files)
    assert said.returncode == 0 and "Begins 480 samples (10.00 ms) late." in said.stdout and " -" not in said.stdout
    facts = json.loads(call("--versions", "--json", bounces["mix"], bounces["mix"].with_name("loud.wav")).stdout)
    assert facts["versions"][0]["offset_samples"] == 0 and not facts["versions"][0]["fits"]
    soundfile.write(tmp_path / "other.wav", cut_song("slack_water_voltage", 8.0, 9.0), RATE_HZ)
    done = call("--versions", bounces["mix"], tmp_path / "other.wav")
    assert done.returncode == 2 and done.stderr.startswith("other.wav: likeness=0.0") and done.stdout == ""


def test_two_mono_files_are_compared(call: Callable[..., Done], tmp_path: Path) -> None:
    """Mono is refused among stereo only."""
    for name, gain in (("one", 1.0), ("two", 0.5)):
        soundfile.write(tmp_path / f"{name}.wav", gain * SONG[:, :1], RATE_HZ, subtype="PCM_24")
    done = call("--json", tmp_path / "one.wav", tmp_path / "two.wav")
    assert done.returncode == 0 and json.loads(done.stdout)["differences"][0]["same_apart_from_level"]
