"""The terminal form from outside: an interrupt, an output that is missing, and what is refused in a line."""

from __future__ import annotations

import io
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.cli.command import make_environment
from tests.cli.inside import Done
from trainer.decisions.check_words import word_faults
from trainer.playback.silent import SilentPlayer

RATE = 48000


def test_an_interrupt_is_said_and_told(data_folder: Path) -> None:
    """A shell tells 128 and the signal's number (POSIX); the lines are those of a stop."""
    process = subprocess.Popen(
        [sys.executable, "-m", "trainer", "drill", "high_shelf_8k", "--text", "--silent", "--trials", "2"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        cwd=data_folder.parent,
        env=make_environment(data_folder),
        text=True,
    )
    assert process.stdout is not None and process.stdin is not None
    while not process.stdout.readline().startswith("Trial 1"):
        pass
    process.send_signal(signal.SIGINT)
    rest = process.stdout.read()
    process.stdin.close()
    process.stdout.close()
    assert process.wait(20) == 130
    assert "Stopped after 0 of 2 trials; nothing was answered." in rest


def test_an_interrupt_before_the_first_question_is_said(
    call: Callable[..., Done], monkeypatch: pytest.MonkeyPatch
) -> None:
    """While songs are read."""

    def interrupt(audio: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("trainer.app.world.choose_songs", interrupt)
    done = call("drill", "high_shelf_8k", "--text", "--silent")
    assert done.returncode == 130 and done.stderr == "Stopped. Everything answered is kept.\n"


def test_a_word_that_is_no_choice_is_named_alone(call: Callable[..., Done]) -> None:
    """Without the command line."""
    done = call("list", "nonsense")
    assert (
        done.returncode == 2 and "thing=nonsense, expected one of drills, moves, forms, skills, targets" in done.stderr
    )


@pytest.mark.parametrize("kind", ["sound", "empty"])
def test_what_is_no_sheet_is_said_to_be_none(kind: str, call: Callable[..., Done], tmp_path: Path) -> None:
    """A sound, and nothing."""
    path = tmp_path / "text.wav"
    path.write_bytes(b"")
    if kind == "sound":
        soundfile.write(path, np.zeros(100), RATE)
    done = call("bounce", path, "--out", tmp_path / "out.wav")
    assert done.returncode == 2
    assert done.stderr == "text.wav: file=text, expected a decision sheet (sheet.yaml)\n"


def test_a_reference_that_is_the_mix_is_refused(call: Callable[..., Done], tmp_path: Path) -> None:
    """The same bytes under another name."""
    mix, copy = tmp_path / "mix.wav", tmp_path / "copy.wav"
    soundfile.write(mix, np.random.default_rng(1).normal(0, 0.1, (RATE * 10, 2)), RATE)
    copy.write_bytes(mix.read_bytes())
    done = call("decide", mix, "--text", "--silent", "--reference", copy)
    assert done.returncode == 2
    assert done.stderr == "decide: --reference=copy.wav, expected another song: this file is the mix itself\n"


def test_a_reference_that_is_too_short_is_refused(call: Callable[..., Done], tmp_path: Path) -> None:
    """Less than the ten seconds that are compared."""
    mix, short = tmp_path / "mix.wav", tmp_path / "short.wav"
    soundfile.write(mix, np.random.default_rng(1).normal(0, 0.1, (RATE * 10, 2)), RATE)
    soundfile.write(short, np.random.default_rng(2).normal(0, 0.1, (RATE * 3, 2)), RATE)
    done = call("decide", mix, "--text", "--silent", "--reference", short)
    assert done.returncode == 2 and "--reference=short.wav, expected a song of at least 10 s" in done.stderr


def test_faults_are_told_by_their_kind() -> None:
    """Their number, the first and the strongest of made-up faults; one alone as it is."""
    clicks = [
        {"kind": "click", "start_s": float(at), "end_s": at + 0.001, "channel": "left", "strength": 20.0 + at % 3,
         "unit": "dB"}
        for at in range(1, 41)
    ]  # fmt: skip
    lines = word_faults([*clicks, {**clicks[0], "kind": "pop"}])
    assert len(lines) == 2
    assert "40 places, the first at 1.00 s" in lines[0] and "the strongest at 2.00 s, left, 22.0 dB" in lines[0]


class Keyboard(io.StringIO):
    """Stand in for a person at a keyboard who says nothing."""

    def isatty(self) -> bool:
        """Be one."""
        return True


@pytest.mark.parametrize(("options", "status"), [((), 2), (("--silent",), 0), (("--json",), 0)])
def test_questions_that_cannot_be_heard_are_not_put(
    options: tuple[str, ...], status: int, call: Callable[..., Done], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A person at the keyboard without an output is told so in a line; without sound, or by machine, it runs."""
    monkeypatch.setattr("sys.stdin", Keyboard())
    monkeypatch.setattr("trainer.app.world.open_player", lambda rate_hz, silent: SilentPlayer(rate_hz))
    done = call("drill", "high_shelf_8k", "--text", *options)
    assert done.returncode == status
    if status:
        assert "Trial 1" not in done.stdout and done.stderr.startswith("drill: output=none, expected one that can")
        assert "--silent" in done.stderr and len(done.stderr.splitlines()) == 1


def test_todays_plan_is_said_with_its_reasons_before_it_begins(
    call: Callable[..., Done], monkeypatch: pytest.MonkeyPatch
) -> None:
    """By construction: each line has its drill, its length and why it is there; then the first is named and asked."""
    monkeypatch.setattr("sys.stdin", io.StringIO("q\n"))
    done = call("drill", "--text", "--silent")
    said = done.stdout.splitlines()
    first = next(n for n, line in enumerate(said) if line.startswith("Trial 1 of"))
    title = said[first - 1].partition(": ")[2].rstrip(".")
    count = int(said[first - 1].split()[2].rstrip(":"))
    lines = said[first - 1 - count : first - 1]
    assert done.returncode == 0 and lines[0].startswith(f"{title}: ") and count >= 2
    assert all(" trial" in line and " min; new to you." in line and "·" not in line for line in lines)
    assert "One skill in depth" in said[first - 2 - count]
