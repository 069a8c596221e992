"""The workshop's process: makes the same trials, passes on what is wrong, and never outlives its parent."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import numpy as np
import pytest

from trainer.errors import EvenhandError
from trainer.exercise.drill import Drill
from trainer.exercise.trial import PreparedTrial, TrialSpec
from trainer.files.library import list_demo_songs
from trainer.files.sound_reading import describe_own_song, read_song
from trainer.workshop.bench import Bench
from trainer.workshop.process import ProcessWorkshop

ROOT = Path(__file__).parents[2]


def collect(workshop: ProcessWorkshop) -> PreparedTrial:
    """Wait for a trial."""
    for _ in range(600):
        made = workshop.collect()
        if made is not None:
            return made
        time.sleep(0.1)
    raise AssertionError("no trial within a minute")


def test_it_makes_the_trial_that_was_asked_for_last(bench: Bench, drills: dict[str, Drill]) -> None:
    """An earlier wish is dropped; what comes is what the same specification gives here."""
    workshop = ProcessWorkshop(list_demo_songs(), read_song)
    try:
        spec = TrialSpec(drills["high_shelf_8k"], 4, 1, 2.5)
        workshop.submit(TrialSpec(drills["high_shelf_8k"], 4, 0, 9.0))
        workshop.submit(spec)
        made = collect(workshop)
    finally:
        workshop.close()
    assert made.spec == spec
    assert np.array_equal(made.sounds, bench.make(spec).sounds)


def test_what_is_wrong_comes_back_as_a_line(drills: dict[str, Drill]) -> None:
    """A file that cannot be read."""
    workshop = ProcessWorkshop((describe_own_song("/no/such/mix.wav"),), read_song)
    try:
        workshop.submit(TrialSpec(drills["limiting"], 1, 0, 4.0))
        with pytest.raises(EvenhandError, match=r"audio: file=/no/such/mix\.wav, expected a file that exists"):
            collect(workshop)
    finally:
        workshop.close()


@pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")
@pytest.mark.parametrize("how", ["SIGKILL", "SIGTERM", "crash"])
def test_it_ends_with_its_parent_however_that_ended(how: str) -> None:
    """Even in the middle of work."""
    script = textwrap.dedent("""
        import os, signal, sys, time
        from pathlib import Path
        from trainer.exercise.trial import TrialSpec
        from trainer.files.library import list_demo_songs, list_drills
        from trainer.files.sound_reading import read_song
        from trainer.workshop.process import ProcessWorkshop
        if __name__ == "__main__":
            workshop = ProcessWorkshop(list_demo_songs(), read_song)
            workshop.submit(TrialSpec(list_drills(Path("/nowhere"))["limiting"], 1, 0, 9.0))
            print(workshop._process.pid, flush=True)
            time.sleep(0.5)
            if sys.argv[1] == "crash":
                os._exit(7)
            os.kill(os.getpid(), getattr(signal, sys.argv[1]))
            time.sleep(60)
    """)
    parent = subprocess.Popen([sys.executable, "-c", script, how], cwd=ROOT, stdout=subprocess.PIPE, text=True)
    assert parent.stdout is not None
    child = int(parent.stdout.readline())
    parent.wait(30)
    for _ in range(100):
        if not is_running(child):
            return
        time.sleep(0.1)
    os.kill(child, signal.SIGKILL)
    raise AssertionError("the workshop outlived its parent by 10 s")


def is_running(pid: int) -> bool:
    """Tell whether a process runs; one that ended and waits to be buried does not."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] not in "ZX"
    except OSError:
        return False
