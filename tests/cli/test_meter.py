"""`measure` and `check` from outside: keys, figures, verdicts, pages, bad files, and exit statuses."""

from __future__ import annotations

import json
import struct
from collections.abc import Callable
from pathlib import Path
from xml.dom import minidom

import numpy as np
import pytest
import soundfile

from tests.cli.command import run
from tests.cli.inside import Done
from tests.measure.sounds import music_like, sine

MEASURE_KEYS = [
    "file", "format", "sample_rate_hz", "channels", "bit_depth", "duration_s", "integrated_lufs", "loudness_range_lu",
    "max_momentary_lufs", "max_short_term_lufs", "true_peak_dbtp", "sample_peak_dbfs", "peak_to_loudness_db",
    "dc_offset", "correlation", "balance_db", "mono_change_lu", "bandwidth_hz", "true_bits", "third_octaves", "notes",
]  # fmt: skip
CHECK_KEYS = [*MEASURE_KEYS, "target", "faults", "edges", "coded", "verdicts", "verdict"]


@pytest.fixture
def master(tmp_path: Path) -> Path:
    """A clean file of 8 s with a beat, 24 bit, that begins and ends in silence."""
    rng = np.random.default_rng(1)
    song = np.tile(0.6 * music_like(2 * 48000, 48000, 1), (4, 1)) + 1e-4 * rng.standard_normal((384000, 2))
    fade = np.clip(np.arange(384000) / 9600, 0, 1)
    song *= (fade * np.clip((fade[::-1]), 0, 1))[:, None]
    path = tmp_path / "master.wav"
    soundfile.write(path, np.pad(song, ((4800, 48000), (0, 0))), 48000, subtype="PCM_24")
    return path


def test_measure_gives_every_key(data_folder: Path, tmp_path: Path) -> None:
    """EBU Tech 3341 (2023), case 1, as a file: −23.0 LUFS; third octaves on the exact centres of IEC 61260-1."""
    path = tmp_path / "tone.wav"
    soundfile.write(path, sine(1000.0, 10 ** (-23 / 20), 20 * 48000, 48000), 48000, subtype="PCM_24")
    done = run(data_folder, "measure", "--json", str(path))
    assert done.returncode == 0 and done.stderr == ""
    (facts,) = json.loads(done.stdout)
    assert set(MEASURE_KEYS) <= set(facts)
    for key in ("integrated_lufs", "max_momentary_lufs", "max_short_term_lufs"):
        assert facts[key] == pytest.approx(-23.0, abs=0.1)
    assert (facts["sample_rate_hz"], facts["channels"], facts["bit_depth"], facts["format"]) == (48000, 2, 24, "WAV")
    assert facts["true_peak_dbtp"] == pytest.approx(-23.0, abs=0.1) and facts["correlation"] == pytest.approx(1.0)
    centres = [band["centre_hz"] for band in facts["third_octaves"]]
    assert len(centres) == 31 and centres[17] == 1000.0 and centres[0] == pytest.approx(19.953)
    assert "−23.0 LUFS integrated" in run(data_folder, "measure", str(path)).stdout


def test_bad_files_do_not_stop_the_rest(call: Callable[..., Done], tmp_path: Path) -> None:
    """One line on standard error for each; the good ones are answered, in their order; status 2."""
    good = [tmp_path / "a.wav", tmp_path / "b.flac"]
    for path in good:
        soundfile.write(path, sine(440.0, 0.1, 48000, 48000), 48000)
    bad = make_bad_files(tmp_path)
    done = call("measure", "--json", str(good[0]), *map(str, bad), str(good[1]))
    assert done.returncode == 2
    assert [facts["file"] for facts in json.loads(done.stdout)] == [str(path) for path in good]
    lines = done.stderr.strip().splitlines()
    assert len(lines) == len(bad) and all(", expected " in line for line in lines)


def make_bad_files(folder: Path) -> list[Path]:
    """Make files that cannot be measured: each for another reason."""
    names = ("missing", "folder", "text", "empty", "header", "six", "slow", "nan", "infinite", "nothing")
    paths = {name: folder / f"{name}.wav" for name in names}
    paths["folder"].mkdir()
    paths["text"].write_text("not sound at all")
    paths["empty"].write_bytes(b"")
    soundfile.write(paths["header"], np.zeros((0, 2)), 48000)
    soundfile.write(paths["six"], np.zeros((480, 6)), 48000)
    soundfile.write(paths["slow"], np.zeros((480, 2)), 4000)
    for name, value in (("nan", np.nan), ("infinite", np.inf)):
        samples = np.full((4800, 2), 0.1)
        samples[2400, 1] = value
        soundfile.write(paths[name], samples, 48000, subtype="FLOAT")
    head = struct.pack("<IHHIIHH", 16, 1, 0, 48000, 0, 0, 16)
    paths["nothing"].write_bytes(b"RIFF" + struct.pack("<I", 36) + b"WAVEfmt " + head + b"data" + struct.pack("<I", 0))
    return list(paths.values())


def test_odd_files_are_answered_with_notes(call: Callable[..., Done], tmp_path: Path) -> None:
    """Silence, a tenth of a second, one channel, 8 and 192 kHz, a wrong suffix, a cut-off file: nulls and notes."""
    tone = sine(440.0, 0.1, 8 * 48000, 48000)
    soundfile.write(tmp_path / "silent.wav", np.zeros((4 * 48000, 2)), 48000)
    soundfile.write(tmp_path / "short.wav", tone[:4800], 48000)
    soundfile.write(tmp_path / "mono.wav", tone[:, :1], 48000)
    soundfile.write(tmp_path / "slow.wav", tone[:16000], 8000)
    soundfile.write(tmp_path / "fast.wav", tone, 192000)
    soundfile.write(tmp_path / "wrong.mp3", tone, 48000, format="FLAC")
    soundfile.write(tmp_path / "whole.wav", tone, 48000)
    (tmp_path / "cut.wav").write_bytes((tmp_path / "whole.wav").read_bytes()[:700000])
    names = ("silent.wav", "short.wav", "mono.wav", "slow.wav", "fast.wav", "wrong.mp3", "cut.wav")
    done = call("measure", "--json", *(str(tmp_path / name) for name in names))
    assert done.returncode == 0 and done.stderr == "" and "NaN" not in done.stdout and "Infinity" not in done.stdout
    silent, short, mono, slow, fast, wrong, cut = json.loads(done.stdout)
    assert silent["integrated_lufs"] is None and silent["true_peak_dbtp"] is None and silent["true_bits"] is None
    assert any("silence" in note for note in silent["notes"])
    assert short["integrated_lufs"] is None and short["sample_peak_dbfs"] == pytest.approx(-20.0, abs=0.01)
    assert mono["correlation"] is None and any("one channel" in note for note in mono["notes"])
    assert (slow["sample_rate_hz"], fast["sample_rate_hz"], wrong["format"]) == (8000, 192000, "FLAC")
    assert 3 < cut["duration_s"] < 4 and any("cut off" in note for note in cut["notes"])


def test_a_clean_master_passes(call: Callable[..., Done], master: Path) -> None:
    """Every key; every verdict with its origin; loudness never fails; status 0."""
    done = call("check", "--json", "--no-coding", "--target", "streaming", str(master))
    (facts,) = json.loads(done.stdout)
    assert set(CHECK_KEYS) <= set(facts)
    assert facts["faults"] == [] and facts["verdict"] == "pass" and done.returncode == 0
    for verdict in facts["verdicts"]:
        assert {"rule", "value", "limit", "unit", "verdict", "status", "source", "date"} <= set(verdict)
        assert verdict["status"] in ("standard", "recommendation", "common_practice") and verdict["source"]
    assert facts["edges"]["tail_silence_s"] == pytest.approx(1.0, abs=0.05)


def test_a_loud_master_is_told_and_a_faulty_one_fails(call: Callable[..., Done], tmp_path: Path, master: Path) -> None:
    """Louder than a target by some dB: told how far it is turned down. Clicks and clipping: fail, status 1."""
    samples, rate = soundfile.read(master)
    loud = np.tanh(6 * samples) * 0.8
    soundfile.write(tmp_path / "loud.wav", loud, rate, subtype="PCM_24")
    faulty = np.clip(samples, *(0.35 * np.array([-1, 1]) * np.abs(samples).max()))
    faulty[200000] += 0.6
    soundfile.write(tmp_path / "faulty.wav", faulty, rate, subtype="PCM_24")
    done = call("check", "--json", "--no-coding", "--target", "streaming", str(tmp_path / "loud.wav"))
    (facts,) = json.loads(done.stdout)
    (level,) = (verdict for verdict in facts["verdicts"] if verdict["rule"] == "integrated_lufs")
    assert level["verdict"] == "pass" and "turned down" in level["reason"] and done.returncode == 0
    done = call("check", "--json", "--no-coding", "--target", "streaming", str(tmp_path / "faulty.wav"))
    (facts,) = json.loads(done.stdout)
    assert done.returncode == 1 and facts["verdict"] == "fail"
    assert {"click", "clipped_run"} <= {fault["kind"] for fault in facts["faults"]}
    (click,) = (fault for fault in facts["faults"] if fault["kind"] == "click")
    assert click["start_s"] == pytest.approx(200000 / 48000, abs=0.001) and click["unit"] == "dB"


def test_without_a_target_the_facts_the_faults_and_the_intake(
    call: Callable[..., Done], master: Path, tmp_path: Path
) -> None:
    """No verdict; a page with three pictures, which is not overwritten unasked."""
    page = tmp_path / "pages" / "check.html"
    done = call("check", "--json", "--no-coding", "--page", str(page), str(master))
    (facts,) = json.loads(done.stdout)
    assert done.returncode == 0 and facts["verdict"] is None and facts["verdicts"] == []
    assert any("Headroom is no virtue" in item["reason"] for item in facts["intake"])
    text = page.read_text(encoding="utf-8")
    pictures = text.split("<svg")[1:]
    assert len(pictures) == 3
    for picture in pictures:
        minidom.parseString("<svg" + picture.split("</svg>")[0] + "</svg>")
    again = call("check", "--no-coding", "--page", str(page), str(master))
    assert again.returncode == 2 and "--force overwrites" in again.stderr


def test_coding_is_tried(call: Callable[..., Done], master: Path) -> None:
    """Each codec at its rate gives a true peak near the file's own."""
    (facts,) = json.loads(call("check", "--json", str(master)).stdout)
    assert {(peak["codec"], peak["kbps"]) for peak in facts["coded"]} >= {("mp3", 128), ("vorbis", 160), ("opus", 128)}
    for peak in facts["coded"]:
        assert peak["true_peak_dbtp"] == pytest.approx(facts["true_peak_dbtp"], abs=4.0)


def test_targets_are_listed_and_an_own_one_is_added(data_folder: Path, call: Callable[..., Done], master: Path) -> None:
    """The shipped file's targets, each number with its origin; one of the data folder; an unknown one: status 2."""
    targets = json.loads(call("list", "targets", "--json").stdout)
    assert {"streaming", "aes_td1008", "ebu_r128", "ebu_r128_s2", "cd", "club"} <= {t["target"] for t in targets}
    assert all(rule["source"] and rule["date"] and rule["status"] for t in targets for rule in t["rules"])
    data_folder.mkdir(exist_ok=True)
    rule = (
        "{rule: true_peak_dbtp, most: -30, unit: dBTP, miss: warn, status: common_practice, source: club, date: 2026}"
    )
    (data_folder / "targets.yaml").write_text(f"format: 1\ntargets:\n  - target: quay\n    rules:\n      - {rule}\n")
    done = call("check", "--no-coding", "--json", "--target", "quay", str(master))
    assert json.loads(done.stdout)[0]["verdict"] == "warn" and done.returncode == 0
    unknown = call("check", "--target", "moon", str(master))
    assert unknown.returncode == 2 and "target: name=moon, expected one of" in unknown.stderr
