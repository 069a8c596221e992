"""The commands, from outside: what they print, what they leave behind, and their exit status."""

from __future__ import annotations

import io
import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.cli.command import make_environment, run
from tests.cli.inside import Done
from tests.exercise.test_preparation import read_with_libebur128

Call = Callable[..., Done]


@pytest.fixture
def call(call: Callable[..., Done], monkeypatch: pytest.MonkeyPatch) -> Call:
    """Carry a command out in this process, with lines on its standard input."""

    def carry_out(*arguments: str, lines: str = "") -> Done:
        monkeypatch.setattr(sys, "stdin", io.StringIO(lines))
        return call(*arguments)

    return carry_out


def test_ten_piped_answers_are_kept_and_shown(data_folder: Path) -> None:
    """A drill in the terminal without sound, and the skill in `progress`."""
    done = run(data_folder, "drill", "--text", "high_shelf_8k", "--silent", lines="=1\n=2\n=3\n" * 3 + "=1\n")
    assert done.returncode == 0 and done.stderr == ""
    assert "Stopped after 10 of 30 trials" in done.stdout
    shown = json.loads(run(data_folder, "progress", "--json").stdout)
    (skill,) = shown["skills"]
    assert skill["skill"] == "high_shelf_8k" and skill["trials"] == 10 and skill["setup"] == "silent"
    assert skill["unit"] == "dB" and skill["audio"] == "demo"
    assert skill["low"] < skill["estimate"] < skill["high"]


def test_an_empty_history_is_an_answer(call: Call) -> None:
    """Nothing practised is no error."""
    assert json.loads(call("progress", "--json").stdout) == {"skills": [], "confusions": []}
    done = call("progress")
    assert done.returncode == 0 and "Nothing has been practised yet" in done.stdout


@pytest.mark.parametrize("drill", ["high_shelf_8k", "limiting"])
def test_rendered_trials_are_fair_on_an_independent_meter(call: Call, tmp_path: Path, drill: str) -> None:
    """libebur128, read round the loop: within 0.05 LU, under −1 dBTP; and the files are the receipt's."""
    out = tmp_path / "new" / "folder"
    done = call("render", drill, "--out", str(out), "--seed", "9", "--trials", "2")
    assert done.returncode == 0, done.stderr
    receipt = json.loads(Path(done.stdout.strip()).read_text(encoding="utf-8"))
    assert receipt["drill"] == drill and receipt["seed"] == 9 and len(receipt["trials"]) == 2
    for trial in receipt["trials"]:
        read = [soundfile.read(out / version["file"], dtype="float32") for version in trial["versions"]]
        assert all(soundfile.info(out / version["file"]).subtype == "FLOAT" for version in trial["versions"])
        loudness, peaks = zip(*(read_with_libebur128(sound, rate) for sound, rate in read), strict=True)
        assert max(loudness) - min(loudness) < 0.05 and max(peaks) <= -1.0
        assert len({sound.shape for sound, _ in read}) == 1
        processed = [version for version in trial["versions"] if version["processed"]]
        assert [version["label"] for version in processed] == [trial["right_answer"]]
        (name,) = set(processed[0]["asked"]) & set(processed[0]["measured"]) - {"corner_hz"}
        assert processed[0]["measured"][name] == pytest.approx(trial["amount"], abs=0.1)
        assert processed[0]["measured"] != processed[0]["asked"]
    again = call("render", drill, "--out", str(out))
    assert again.returncode == 2 and "--force overwrites" in again.stderr


def test_a_kept_trial_is_made_again_from_the_history(call: Call, tmp_path: Path) -> None:
    """`replay` gives the very sounds that `render` gives for the same drill, seed, index and amount."""
    line = call("drill", "limiting", "--silent", "--json", "--seed", "5", "--trials", "1", lines="=2\n")
    events = [json.loads(text) for text in line.stdout.splitlines()]
    answer = next(event for event in events if event["event"] == "answer")
    done = call("replay", answer["trial"], "--out", str(tmp_path / "a"))
    assert done.returncode == 0, done.stderr
    amount = str(answer["amount"])
    call("render", "limiting", "--out", str(tmp_path / "b"), "--seed", "5", "--amount", amount)
    for number in (1, 2, 3):
        a, b = (soundfile.read(tmp_path / x / f"trial_001_version_{number}.wav")[0] for x in "ab")
        assert np.array_equal(a, b)
    receipt = json.loads((tmp_path / "a" / "receipt.json").read_text(encoding="utf-8"))
    assert receipt["trials"][0]["right_answer"] == answer["right_answer"]


def test_a_persons_own_mix_is_kept_apart(call: Call, tmp_path: Path) -> None:
    """Own music has a threshold of its own; here noise with bursts, at 44.1 kHz."""
    rng, rate = np.random.default_rng(3), 44100
    noise = 0.02 * rng.standard_normal((rate * 12, 2))
    for hit in range(24):
        start = int(hit * rate / 2) + 500
        noise[start : start + 2000] += 0.3 * rng.standard_normal((2000, 2)) * np.exp(-np.arange(2000) / 400)[:, None]
    soundfile.write(tmp_path / "my mix.flac", noise, rate)
    mix = str(tmp_path / "my mix.flac")
    done = call("drill", "limiting", "--text", "--silent", "--audio", mix, "--trials", "2", lines="=1\n=1\n")
    assert done.returncode == 0, done.stderr
    (skill,) = json.loads(call("progress", "--json").stdout)["skills"]
    assert skill["audio"] == "own"


def test_lists(call: Call) -> None:
    """Drills, moves, forms, skills, as JSON and as lines."""
    drills = json.loads(call("list", "drills", "--json").stdout)
    assert {frozenset(drill) for drill in drills} == {
        frozenset({"drill", "title", "form", "move", "skill", "unit", "low", "high"})
    }
    for thing in ("drills", "moves", "forms", "skills"):
        assert call("list", thing, "--json").returncode == 0
        assert call("list", thing).stdout.strip()


def test_the_doctor_answers(data_folder: Path) -> None:
    """Libraries, outputs, folders, fonts; no output is a fact, not a failure."""
    facts = json.loads(run(data_folder, "doctor", "--json").stdout)
    assert facts["fonts"] and facts["output"]["kind"] in ("portaudio", "sdl", "silent")
    assert str(data_folder) == facts["folders"]["data"]


BAD = {
    "unknown drill": (["drill", "high_shelf", "--text"], r"drill: name=high_shelf, expected"),
    "unknown command": (["dril"], "expected"),
    "no such file": (["drill", "limiting", "--text", "--audio", "/no/mix.wav"], "audio: file=/no/mix.wav, expected"),
    "amount too large": (
        ["render", "limiting", "--out", "x", "--amount", "99"],
        "limiting: amount=99, expected 0.5 to 14",
    ),
    "amount not a number": (["render", "limiting", "--out", "x", "--amount", "nan"], "limiting: amount=nan, expected"),
    "trials": (["drill", "limiting", "--text", "--trials", "0"], "--trials=0, expected"),
    "seed": (["render", "limiting", "--out", "x", "--seed", "-1"], "expected"),
    "no display": ([], "window: display=none, expected a display; without one use evenhand drill --text"),
    "unknown trial": (["replay", "nothing", "--out", "x"], "history: trial=nothing, expected"),
}


# The parser names the process's own arguments, and the display is the process's.
OUTSIDE = ("unknown command", "no display")


@pytest.mark.parametrize("kind", BAD)
def test_bad_input_is_one_line_and_status_2(call: Call, data_folder: Path, kind: str) -> None:
    """Exactly one line on standard error, no traceback."""
    arguments, expected = BAD[kind]
    done = run(data_folder, *arguments) if kind in OUTSIDE else call(*arguments)
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1 and expected in done.stderr, done.stderr


def test_a_broken_drill_file_and_a_locked_folder_are_named(call: Call, data_folder: Path) -> None:
    """A person's own file with a fault; a data folder that cannot be."""
    own = data_folder / "exercises"
    own.mkdir()
    (own / "mine.yaml").write_text("format: 1\ndrills:\n\t- drill: x\n")
    done = call("list", "drills")
    assert done.returncode == 2 and done.stderr.startswith("mine.yaml: line=3, expected YAML with spaces")
    (data_folder / "file").write_text("")
    done = call("--data", str(data_folder / "file" / "data"), "progress")
    assert done.returncode == 2 and "data folder: path=" in done.stderr and len(done.stderr.splitlines()) == 1


def test_an_unexpected_error_leaves_a_log(data_folder: Path) -> None:
    """Status 3, one line with the log's path, no traceback on the screen."""
    script = (
        "import trainer.app.listing as listing, sys\n"
        "listing.read_progress = lambda _: 1 / 0\n"
        "from trainer.cli import main\n"
        "sys.exit(main(['progress']))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], env=make_environment(data_folder), capture_output=True, text=True
    )
    assert done.returncode == 3 and len(done.stderr.splitlines()) == 1
    log = data_folder / "evenhand.log"
    assert str(log) in done.stderr and "ZeroDivisionError" in log.read_text()


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs SIGKILL")
def test_a_killed_drill_loses_nothing_answered(data_folder: Path) -> None:
    """SIGKILL the moment the answer's line is there."""
    drill = subprocess.Popen(
        [sys.executable, "-m", "trainer", "drill", "high_shelf_8k", "--json", "--silent"],
        env=make_environment(data_folder),
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert drill.stdin is not None and drill.stdout is not None
    answered = 0
    for line in drill.stdout:
        event = json.loads(line)
        if event["event"] == "answer":
            answered += 1
            if answered == 3:
                drill.kill()
                break
        elif event["event"] == "question":
            drill.stdin.write("=1\n")
            drill.stdin.flush()
    drill.wait(10)
    assert json.loads(run(data_folder, "progress", "--json").stdout)["skills"][0]["trials"] == 3


@pytest.mark.skipif(os.name == "nt", reason="uses a pipe that closes early")
def test_a_reader_that_goes_away_is_no_error(data_folder: Path) -> None:
    """As with `| head -n 1`."""
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(
        [sys.executable, "-m", "trainer", "list", "drills", "--json"],
        env=make_environment(data_folder),
        stdout=writer,
        stderr=subprocess.PIPE,
        text=True,
    )
    os.close(writer)
    assert done.stderr == "" and done.returncode == 0
