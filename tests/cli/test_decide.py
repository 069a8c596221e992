"""`decide` from outside: a mix led from its aim to a checked master, and what is wrong said in a line."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.cli.inside import Done
from tests.measure.meters import ebur128_dbtp, ebur128_lufs
from trainer.files.library import list_demo_songs
from trainer.files.sheet_file import open_sheet

RATE = 48000
AIM = ("muddy", "close", "ends too soon", "Music streaming", "Next: listen through")
PASS = ("Begin the pass", "7.4 click", "done", "Take both as proposed", "Next: balance")
Decide = Callable[..., Done]


@pytest.fixture(scope="module")
def mix(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give 10 s of a demo song as a mix of one's own."""
    path = tmp_path_factory.mktemp("mix") / "Number Four Crane.wav"
    with soundfile.SoundFile(list_demo_songs()[0].path) as song:
        song.seek(6 * song.samplerate)
        soundfile.write(path, song.read(10 * song.samplerate, dtype="float32"), song.samplerate, subtype="PCM_24")
    return path


@pytest.fixture
def decide(call: Callable[..., Done], monkeypatch: pytest.MonkeyPatch) -> Decide:
    """Carry `decide` out in this process, lines typed as answers."""

    def run(mix: Path, *lines: str, options: tuple[str, ...] = ()) -> Done:
        monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"={line}\n" for line in lines)))
        return call("decide", mix, "--text", "--silent", *options)

    return run


def test_a_mix_goes_from_its_aim_to_a_checked_master(decide: Decide, mix: Path, tmp_path: Path) -> None:
    """Loudness and peak of the master read by libebur128; the mix is not touched; the sheet's path comes last."""
    before, master = mix.read_bytes(), tmp_path / "master.wav"
    done = decide(
        mix,
        *AIM,
        *PASS,
        "Sweetening",
        "Loudness",
        "Four around −14 LUFS",
        "Every two, blind: 11 picks",
        *"12121212121",
        "−14.0 LUFS",
        "Delivery",
        "16 bits, dithered",
        str(master),
        "Finish",
    )
    assert done.returncode == 0, done.stderr
    sheet = open_sheet(Path(done.stdout.strip().splitlines()[-1]))
    assert sheet.aim.impressions == AIM[:3] and sheet.aim.targets == ("streaming",)
    assert any(finding.heard and finding.start_s == 7.4 for finding in sheet.findings)
    assert sheet.loudness.rung is not None and sheet.delivery.bounced[0].path == str(master)
    assert soundfile.info(master).subtype == "PCM_16" and mix.read_bytes() == before
    samples, rate = soundfile.read(master, dtype="float32")
    assert abs(ebur128_lufs(samples, rate) - sheet.loudness.rung.reached_lufs) <= 0.1
    assert ebur128_dbtp(samples, rate) <= -1.0 + 0.02


def test_answers_are_kept_and_gone_on_with(decide: Decide, mix: Path) -> None:
    """The end of the input is a clean stop; the next call opens the same project where it was left."""
    decide(mix, *AIM[:4])
    done = decide(mix, "Listen through", options=("--json",))
    events = [json.loads(line) for line in done.stdout.splitlines()]
    assert any("muddy" in line for line in events[0]["lines"]) and events[-1]["event"] == "sheet"
    assert [event["event"] for event in events[-2:]] == ["stop", "sheet"]


@pytest.mark.parametrize(
    ("samples", "rate", "line"),
    [
        (np.zeros((RATE * 8, 2)), RATE, "sound above"),
        (np.random.default_rng(1).normal(0, 0.1, (RATE * 2, 2)), RATE, "at least 4 s"),
        (np.random.default_rng(1).normal(0, 0.1, (4000 * 9, 2)), 4000, "sample_rate_hz=4000"),
    ],
)
def test_a_mix_that_cannot_be_worked_on_is_one_line(
    decide: Decide, tmp_path: Path, samples: np.ndarray, rate: int, line: str
) -> None:
    """Silence, two seconds, a rate that is none."""
    path = tmp_path / "odd.wav"
    soundfile.write(path, samples, rate)
    done = decide(path)
    assert done.returncode == 2 and len(done.stderr.strip().splitlines()) == 1 and line in done.stderr
