"""`bounce` from outside: the file, the words, the keys, statuses, and one line for all that cannot be done."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest
import soundfile

from tests.cli.command import make_environment
from tests.cli.inside import Done
from tests.decisions.sheets import MIX, make_candidate
from tests.measure.meters import ebur128_dbtp, ebur128_lufs
from tests.measure.recordings import RATE_HZ, cut_song
from trainer.decisions.sheet import Aim, Delivery, Fades, Loudness, Rung, Sheet
from trainer.files.sheet_file import open_sheet, write_sheet
from trainer.files.sound_reading import hash_file

SONG = cut_song("quarter_past_the_breakwater", 20.0, 5.0)
LIMITER = {"ceiling_dbtp": -1.0, "release_ms": 60.0, "slow_release_ms": 300.0, "clip_over_db": 1.0}


@pytest.fixture
def call(call: Callable[..., Done]) -> Callable[..., Done]:
    """Carry `bounce` out in this process."""
    return partial(call, "bounce")


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """Write a mix, another version of it, and a sheet for streaming."""
    folder = tmp_path / "song"
    folder.mkdir()
    for name, gain in (("mix", 1.0), ("clean", 0.9)):
        soundfile.write(folder / f"{name}.wav", gain * SONG, RATE_HZ, subtype="PCM_24")
    mix = replace(MIX, path=str(folder / "mix.wav"), sha256=hash_file(folder / "mix.wav"), duration_s=5.0)
    held = Sheet(
        "Low tide", mix, "2026-11-27", Aim(targets=("streaming",)), fades=Fades(0.0, 0.02, 4.9, 0.1),
        candidates=(make_candidate(decision="keep"),),
        loudness=Loudness((Rung(-14.0, -14.0, 2.9), Rung(-10.0, -10.0, 7.6)), 0, LIMITER), delivery=Delivery(0, 24),
    )  # fmt: skip
    write_sheet(folder / "sheet.yaml", held)
    return folder / "sheet.yaml"


def test_a_master_is_made_checked_and_compared(call: Callable[..., Done], sheet: Path, tmp_path: Path) -> None:
    """libebur128 on the file: it measures what is told; keys with units; the check as `check` gives it."""
    out = tmp_path / "new" / "master.wav"
    done = call(sheet, "--out", out, "--json")
    assert done.returncode == 0 and done.stderr == ""
    facts = json.loads(done.stdout)
    samples, rate_hz = soundfile.read(out)
    assert facts["file"] == str(out) and facts["sha256"] == hash_file(out)
    assert (facts["sample_rate_hz"], facts["bit_depth"]) == (rate_hz, 24) == (RATE_HZ, 24)
    assert facts["integrated_lufs"] == pytest.approx(ebur128_lufs(samples, rate_hz), abs=0.02)
    assert facts["integrated_lufs"] == pytest.approx(-14.0, abs=0.1)
    assert ebur128_dbtp(samples, rate_hz) <= facts["ceiling_dbtp"] == -1.0
    assert [move["move"] for move in facts["moves"]] == ["low_shelf"]
    (check,) = facts["checks"]
    assert check["target"] == "streaming" and check["verdict"] == facts["verdict"] != "fail"
    assert {"verdicts", "faults", "edges", "coded"} <= set(check)


def test_it_speaks(call: Callable[..., Done], sheet: Path, tmp_path: Path) -> None:
    """Sentences with measured values, real minus signs, the file's path last."""
    done = call(sheet, "--out", tmp_path / "master.flac", "--bit-depth", "16", "--rate", "44100")
    assert done.returncode == 0
    lines = done.stdout.strip().splitlines()
    assert "within 0.2 dB of the sheet's −14.0 LUFS" in lines[0] and "under the ceiling of −1.0 dBTP" in lines[1]
    assert lines[-1] == str(tmp_path / "master.flac")
    info = soundfile.info(tmp_path / "master.flac")
    assert (info.format, info.subtype, info.samplerate) == ("FLAC", "PCM_16", 44100)


def test_a_sheet_without_moves_loudness_and_target_is_carried_out_and_said(
    call: Callable[..., Done], sheet: Path, tmp_path: Path
) -> None:
    """By construction: one line says that the file is the mix with its fades and dither; libsndfile reads it."""
    held = open_sheet(sheet)
    write_sheet(sheet, replace(held, aim=Aim(), candidates=(), loudness=Loudness()))
    done = call(sheet, "--out", tmp_path / "master.wav")
    expected = (
        "The sheet keeps no move and aims at no target: the file is the mix with cut ends, fades and dither, measured "
        "and not judged."
    )
    assert done.returncode == 0 and done.stdout.splitlines().count(expected) == 1
    assert "no loudness is chosen on the sheet, so there is no limiter" in done.stdout
    assert soundfile.info(tmp_path / "master.wav").frames == round(4.9 * RATE_HZ)


def test_a_failed_check_is_a_no(call: Callable[..., Done], sheet: Path, tmp_path: Path) -> None:
    """Distributors take 16 and 24 bit: 32 fails the check, status 1; the file is there all the same."""
    done = call(sheet, "--out", tmp_path / "master.wav", "--bit-depth", "32")
    assert done.returncode == 1 and "streaming: fail" in done.stdout
    assert soundfile.info(tmp_path / "master.wav").subtype == "FLOAT"


def test_another_version_and_a_mix_that_has_moved(call: Callable[..., Done], sheet: Path, tmp_path: Path) -> None:
    """By construction: a version takes the mix's drive; a moved mix is found beside the sheet, or where named."""
    done = call(sheet, "--out", tmp_path / "clean.wav", "--mix", sheet.parent / "clean.wav", "--json")
    facts = json.loads(done.stdout)
    main = json.loads(call(sheet, "--out", tmp_path / "main.wav", "--json").stdout)
    assert facts["drive_db"] == main["drive_db"] and facts["version_of"] == "mix.wav"
    moved = tmp_path / "moved"
    sheet.parent.rename(moved)
    assert call(moved / "sheet.yaml", "--out", tmp_path / "a.wav").returncode == 0
    (moved / "mix.wav").rename(tmp_path / "again.wav")
    named = call(moved / "sheet.yaml", "--out", tmp_path / "b.wav", "--mix", tmp_path / "again.wav", "--json")
    assert json.loads(named.stdout)["version_of"] == ""
    assert (tmp_path / "a.wav").read_bytes() == (tmp_path / "b.wav").read_bytes()
    lost = call(moved / "sheet.yaml", "--out", tmp_path / "c.wav")
    assert (
        lost.returncode == 2 and "expected the mix where it was, beside the sheet, or named with --mix" in lost.stderr
    )


def test_a_changed_mix_is_refused(call: Callable[..., Done], sheet: Path, tmp_path: Path) -> None:
    """One line; nothing is made."""
    soundfile.write(sheet.parent / "mix.wav", 0.5 * SONG, RATE_HZ, subtype="PCM_24")
    done = call(sheet, "--out", tmp_path / "master.wav")
    assert done.returncode == 2 and done.stderr.count("\n") == 1
    assert "the mix has changed since the sheet was begun" in done.stderr and not (tmp_path / "master.wav").exists()


def test_nothing_is_overwritten_unasked_and_the_mix_never(call: Callable[..., Done], sheet: Path) -> None:
    """By construction: an existing file stays without --force; the mix stays with it."""
    out = sheet.parent / "master.wav"
    out.write_bytes(b"mine")
    refused = call(sheet, "--out", out)
    assert refused.returncode == 2 and "--force overwrites" in refused.stderr and out.read_bytes() == b"mine"
    before = hash_file(sheet.parent / "mix.wav")
    own = call(sheet, "--out", sheet.parent / "mix.wav", "--force")
    assert own.returncode == 2 and "which is never changed" in own.stderr
    assert hash_file(sheet.parent / "mix.wav") == before
    assert call(sheet, "--out", out, "--force").returncode == 0 and out.read_bytes()[:4] == b"RIFF"


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (("--bit-depth", "32", "--out", "a.flac"), "bounce: --bit-depth=32, expected 16 or 24 for FLAC"),
        (("--bit-depth", "20", "--out", "a.wav"), "evenhand: --bit-depth=20, expected one of 16, 24, 32"),
        (("--rate", "22050", "--out", "a.wav"), "evenhand: --rate=22050, expected one of 44100"),
        (("--out", "a.mp3"), "bounce: --out=.mp3, expected a file that ends in .wav or .flac"),
        (("--out", "song/mix.wav/a.wav"), "a place that can be written"),
        (("--out", "a.wav", "--mix", "none.wav"), "audio: file="),
    ],
)
def test_what_cannot_be_had_is_one_line(
    call: Callable[..., Done], sheet: Path, tmp_path: Path, arguments: tuple[str, ...], line: str
) -> None:
    """Status 2, nothing on standard output, no file."""
    named = [str(tmp_path / each) if "." in each else each for each in arguments]
    done = call(sheet, *named)
    assert done.returncode == 2 and done.stdout == "" and done.stderr.count("\n") == 1 and line in done.stderr
    assert {path.name for path in tmp_path.iterdir()} <= {"song", "data"}


def test_a_sheet_of_nonsense_is_told_line_by_line(call: Callable[..., Done], sheet: Path, tmp_path: Path) -> None:
    """By construction: two faults, two lines; an unknown target is one."""
    text = sheet.read_text(encoding="utf-8")
    sheet.write_text(text.replace("corner_hz: 110.0", "corner_hz: low").replace("bit_depth: 24", "bit_depth: 20"))
    done = call(sheet, "--out", tmp_path / "a.wav")
    assert done.returncode == 2 and len(done.stderr.strip().splitlines()) == 2
    sheet.write_text(text.replace("- streaming", "- moon"), encoding="utf-8")
    done = call(sheet, "--out", tmp_path / "a.wav")
    assert done.returncode == 2 and done.stderr.startswith("target: name=moon, expected one of")


# 4.9 s of two channels in single precision, and not quite the head of a file with them.
SCRATCH_BYTES = round(4.9 * RATE_HZ) * 8 + 10


@pytest.mark.parametrize("bytes_allowed", [100_000, SCRATCH_BYTES])
def test_a_full_disk_leaves_no_file(sheet: Path, tmp_path: Path, bytes_allowed: int) -> None:
    """A limit on what a process may write stands for the disk: full in the first pass, and when the file is written."""
    resource = pytest.importorskip("resource")
    out, data = tmp_path / "out" / "master.wav", tmp_path / "data"
    done = subprocess.run(
        [sys.executable, "-m", "trainer", "bounce", str(sheet), "--out", str(out), "--bit-depth", "32"],
        cwd=tmp_path, env=make_environment(data), capture_output=True, text=True, timeout=120,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (bytes_allowed, bytes_allowed)),
    )  # fmt: skip
    assert done.returncode == 2 and done.stderr.count("\n") == 1
    assert "expected a place that can be written, with room for it" in done.stderr
    assert not out.parent.exists()


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="nothing is locked for the superuser")
def test_a_locked_folder(call: Callable[..., Done], sheet: Path, tmp_path: Path) -> None:
    """One line, status 2."""
    locked = tmp_path / "locked"
    locked.mkdir(mode=0o500)
    done = call(sheet, "--out", locked / "master.wav")
    assert done.returncode == 2 and "a place that can be written" in done.stderr
