"""Mixes that are not as they should be, through the real desk: each is worked on, or refused in one clear line."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from tests.headed_files import write_head
from tests.measure.recordings import RATE_HZ, cut_song
from trainer.app.conditions import Conditions
from trainer.app.work import AllWork, make_work
from trainer.audio.clip import Clip
from trainer.decisions.mix_jobs import (
    CheckFile,
    CompareSongs,
    Delivered,
    HearBeside,
    MakeBounce,
    MixOpened,
    OpenMix,
    PlacesTaken,
    SongsCompared,
    VersionsHeard,
)
from trainer.decisions.sheet import Aim, Sheet
from trainer.dsp.song_chain import Step, render_song
from trainer.errors import EvenhandError

SONG = cut_song("quarter_past_the_breakwater", 12.0, 12.0)
LIMITER = {"drive_db": 14.0, "ceiling_dbtp": -0.3, "release_ms": 60.0, "slow_release_ms": 300.0, "clip_over_db": 0.0}


@pytest.fixture
def desk(tmp_path: Path) -> AllWork:
    """Set up the desk."""
    return make_work(Conditions(str(tmp_path / "data")))


@pytest.fixture
def write(tmp_path: Path) -> Callable[..., str]:
    """Write a file; gives its path."""

    def make(name: str, samples: Any, rate_hz: int = RATE_HZ) -> str:
        soundfile.write(tmp_path / name, samples, rate_hz, subtype="PCM_24")
        return str(tmp_path / name)

    return make


def do(desk: Any, job: Any) -> Any:
    """Do a job."""
    return desk.do(job, lambda fraction, words: None)


def refuse(desk: Any, job: Any) -> str:
    """Have a job refused; gives its line."""
    with pytest.raises(EvenhandError) as caught:
        do(desk, job)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def read_intake(desk: AllWork, path: str, topic: str) -> tuple[str, str]:
    """Give the outcome and the reason of a topic."""
    opened = do(desk, OpenMix(path))
    assert isinstance(opened, MixOpened)
    return next((item.outcome, item.reason) for item in opened.intake if item.topic == topic)


def test_two_hours_are_refused_before_any_work(desk: AllWork, tmp_path: Path) -> None:
    """RIFF: a head that promises two hours of 16 bits, in a file without blocks: told from the head alone."""
    write_head(tmp_path / "long.wav", 7200, RATE_HZ)
    began = time.perf_counter()
    line = refuse(desk, OpenMix(str(tmp_path / "long.wav")))
    assert line == "long.wav: duration_s=7200, expected at most 1800 s (30 min)"
    assert time.perf_counter() - began < 1.0


def test_short_silent_and_cut_off(desk: AllWork, write: Callable[..., str], tmp_path: Path) -> None:
    """By construction: three seconds and silence are refused; half a file is told to be cut off, with its length."""
    assert "duration_s=3.00, expected at least 4 s" in refuse(desk, OpenMix(write("short.wav", SONG[: 3 * RATE_HZ])))
    assert "peak_dbfs=silence" in refuse(desk, OpenMix(write("silent.wav", np.zeros((6 * RATE_HZ, 2)))))
    data = Path(write("whole.wav", SONG)).read_bytes()
    (tmp_path / "half.wav").write_bytes(data[: len(data) // 2])
    outcome, reason = read_intake(desk, str(tmp_path / "half.wav"), "length")
    assert outcome == "fail" and "it holds 6.00 s" in reason


def test_mastered_and_clipped_mixes_are_told_with_evidence(desk: AllWork, write: Callable[..., str]) -> None:
    """By construction: flat tops are counted; a limiter driven by 14 dB is named with what shows it."""
    outcome, reason = read_intake(desk, write("clipped.wav", np.clip(4 * SONG, -0.99, 0.99)), "peaks")
    assert outcome == "fail" and reason.startswith("Flat tops at ") and "the first at 0." in reason
    pushed = render_song(Clip(np.ascontiguousarray(SONG), RATE_HZ), (Step("song_push", LIMITER),)).samples
    outcome, reason = read_intake(desk, write("mastered.wav", pushed), "limiter")
    assert outcome == "warn" and reason.startswith("A limiter seems to be on the mix bus: in ")


def test_references_that_say_nothing(desk: AllWork, write: Callable[..., str]) -> None:
    """By construction: too short to compare, the same file, the same sound at half level: a line each, nothing lost."""
    mix = write("mix.wav", SONG)
    short = write("short.wav", cut_song("chairs_up_at_the_net_loft", 20.0, 5.0))
    soft = write("soft.flac", 0.5 * SONG)
    compared = do(desk, CompareSongs(mix, (short, mix, soft)))
    assert isinstance(compared, SongsCompared) and compared.paths == () and compared.rows
    assert len(compared.refused) == 3 and all("\n" not in line for line in compared.refused)
    said = " ".join(compared.refused)
    assert "short.wav: duration_s=5.0, expected at least 10 s to compare" in said
    assert "expected another file than mix.wav" in said and "expected another song than mix.wav" in said
    heard = do(desk, HearBeside(mix, (short,)))
    assert isinstance(heard, VersionsHeard) and heard.sounds[0].shape[1] == 5 * RATE_HZ


def test_the_desk_asks_before_it_writes_over(
    desk: AllWork, write: Callable[..., str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By construction: what is there is told and stays; made here once, it may be made again; a check says the same."""
    monkeypatch.setattr("trainer.app.delivery_desk.code_clip", None)
    path = write("low tide.wav", SONG[: 5 * RATE_HZ])
    opened = do(desk, OpenMix(path))
    sheet = Sheet("Low tide", opened.mix, "2026-11-27", Aim(targets=("streaming",)))
    out = tmp_path / "master.wav"
    out.write_bytes(b"mine")
    taken = do(desk, MakeBounce(sheet, str(out)))
    assert isinstance(taken, PlacesTaken) and taken.paths == (str(out),) and out.read_bytes() == b"mine"
    made = do(desk, MakeBounce(sheet, str(out), force=True))
    assert isinstance(made, Delivered) and made.made
    (file,) = made.files
    assert file.form == "48 kHz, 24 bit with dither, WAV" and file.judged[0][0] == "Music streaming"
    again = do(desk, MakeBounce(sheet, str(out), own=(file.bounced.sha256,)))
    assert again.files[0].bounced == file.bounced, "the same sheet gives the same file"
    checked = do(desk, CheckFile(sheet, str(out)))
    assert not checked.made and checked.files[0].judged == file.judged
    line = refuse(desk, MakeBounce(sheet, str(out), versions=(write("other.wav", SONG),)))
    assert line == "other.wav: duration_s=12.000, expected 5.000, as the mix has"
