"""Songs made on first use: read by meters that had no part in making them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.measure.meters import ebur128_dbtp, ebur128_lufs
from trainer.app.made_songs import open_faulty_bounce, open_master
from trainer.files.library import list_demo_songs
from trainer.files.sound_reading import read_song


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a data folder."""
    return tmp_path_factory.mktemp("data")


def test_a_master_is_as_loud_as_it_says_and_under_the_ceiling(folder: Path) -> None:
    """Independent meter: libebur128. Between a quiet and a loud master of today (common practice, no source)."""
    mix = list_demo_songs()[0]
    made = open_master(folder, mix)
    samples, rate_hz = soundfile.read(made.entry.path, dtype="float32", always_2d=True)
    assert ebur128_lufs(samples, rate_hz) == pytest.approx(made.notes["integrated_lufs"], abs=0.02)
    assert ebur128_lufs(samples, rate_hz) == pytest.approx(-12.0, abs=0.05)
    assert ebur128_dbtp(samples, rate_hz) <= -1.0
    assert samples.shape == read_song(mix).clip.samples.shape
    assert [step["move"] for step in made.notes["steps"]][-1] == "push"
    written = Path(made.entry.path).stat().st_mtime_ns
    assert Path(open_master(folder, mix).entry.path).stat().st_mtime_ns == written


def test_a_faulty_bounce_has_the_faults_it_lists(folder: Path) -> None:
    """Each is looked for by plain means: a step at the head, flat tops, power below 20 Hz, peaks between samples."""
    mix = list_demo_songs()[0]
    made = open_faulty_bounce(folder, mix)
    kinds = [fault["kind"] for fault in made.notes["faults"]]
    assert {"click", "clipped_run", "rumble", "intersample_over", "abrupt_end"} == set(kinds)
    samples, rate_hz = soundfile.read(made.entry.path, dtype="float64", always_2d=True)
    clean = read_song(mix).clip.samples.astype(np.float64)
    click = next(fault for fault in made.notes["faults"] if fault["kind"] == "click")
    assert click["start_s"] < 0.1
    near = np.abs(np.diff(samples[: int(0.15 * rate_hz)], 2, axis=0)).max(axis=1)
    assert abs(int(near.argmax()) / rate_hz - click["start_s"]) < 0.005
    clipped = next(fault for fault in made.notes["faults"] if fault["kind"] == "clipped_run")
    part = samples[int(clipped["start_s"] * rate_hz) : int(clipped["end_s"] * rate_hz)]
    flat = (np.abs(part[1:]) > 0.95) & (np.diff(part, axis=0) == 0)
    assert flat.sum() > 50
    assert np.abs(samples).max() <= 1.0 and ebur128_dbtp(samples, rate_hz) > 0.0
    assert samples.shape[0] < clean.shape[0] and np.abs(samples[-480:]).max() > 1e-3
    low = [np.abs(np.fft.rfft(x[:, 0]))[: int(18 * x.shape[0] / rate_hz)] for x in (samples, clean)]
    share = [
        (p**2).sum() / (np.abs(np.fft.rfft(x[:, 0])) ** 2).sum() for p, x in zip(low, (samples, clean), strict=True)
    ]
    assert share[0] > 10 * share[1]
