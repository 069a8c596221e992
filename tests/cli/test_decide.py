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
from tests.decisions.test_delivery import make_song
from tests.headed_files import write_head
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
        "Make four around −14 LUFS",
        "Compare every two, blind: 11 picks",
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


def write_low(path: Path) -> None:
    """Write 12 s of one channel at 8 kHz."""
    beat = np.random.default_rng(1).normal(0, 0.1, 8000 * 12) * np.tile(np.linspace(1, 0.1, 4000) ** 2, 24)
    soundfile.write(path, beat, 8000, subtype="PCM_24")


def write_clipped(path: Path) -> None:
    """Write a song whose tops are cut."""
    soundfile.write(path, np.clip(make_song(0.9), -0.36, 0.36), RATE, subtype="PCM_24")


def write_mastered(path: Path) -> None:
    """Write a song pressed against a ceiling."""
    soundfile.write(path, 0.8 * np.tanh(12 * make_song(1.0)), RATE, subtype="PCM_24")


LOW = (
    ("It is 12 s long", "too short for", "bounce the whole song"),
    ("At a rate of 8 kHz", "cannot be judged", "Bounce again at 44.1 or 48 kHz"),
    ("The file has one channel", "no move makes sides", "look at the routing"),
)
CLIPPED = (("Flat tops at ", "no move here gives them back", "bounce again"),)
MASTERED = (("A limiter seems to be on the mix bus", "cannot be given back", "Bounce once more without it"),)


@pytest.mark.parametrize(
    ("write", "expected"), [(write_low, LOW), (write_clipped, CLIPPED), (write_mastered, MASTERED)]
)
def test_what_a_mix_may_be_sent_back_for_is_said_before_the_first_page(
    decide: Decide, tmp_path: Path, write: Callable[[Path], None], expected: tuple[tuple[str, str, str], ...]
) -> None:
    """By construction: each has its sentence, what follows from it and what to do, before the aim."""
    write(tmp_path / "odd.wav")
    done = decide(tmp_path / "odd.wav")
    assert done.returncode == 0, done.stderr
    said = done.stdout.splitlines()
    first = said[: next(n for n, line in enumerate(said) if line.startswith("Step 1"))]
    for begin, follows, step in expected:
        (line,) = [line for line in first if line.startswith(begin)]
        assert follows in line and step in line and len(line) < 340


def test_two_hours_are_one_line_from_the_head_alone(decide: Decide, tmp_path: Path) -> None:
    """RIFF: a head that promises two hours of 16 bits, in a file without blocks."""
    write_head(tmp_path / "set.wav", 7200, RATE)
    done = decide(tmp_path / "set.wav")
    assert done.returncode == 2 and done.stdout == ""
    line = "decide: mix=set.wav, expected one song of at most 30 min, and this has 120; bounce each song alone"
    assert done.stderr.strip() == line


@pytest.mark.parametrize(("length_s", "taken"), [(8.0, True), (7.5, False)])
def test_a_reference_is_as_long_as_what_is_compared(
    decide: Decide, tmp_path: Path, length_s: float, taken: bool
) -> None:
    """By construction: of a mix of 8 s all is compared, so 8 s of another song are enough, and 7.5 s are not."""
    for name, seed, seconds in (("mix", 1, 8.0), ("other", 2, length_s)):
        beat = np.random.default_rng(seed).normal(0, 0.1, (RATE, 2)) * np.geomspace(1, 0.05, RATE)[:, None]
        soundfile.write(tmp_path / f"{name}.wav", np.tile(beat, (8, 1))[: round(seconds * RATE)], RATE)
    done = decide(tmp_path / "mix.wav", options=("--reference", str(tmp_path / "other.wav")))
    line = "decide: --reference=other.wav, expected a song of at least 8 s, as much as is compared of the mix"
    assert (done.returncode == 0) == taken and (done.stderr.strip() == line) != taken
