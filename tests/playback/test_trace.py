"""The record of blocks, read from another thread."""

from __future__ import annotations

import threading
import time

from trainer.playback.trace import ROWS, Trace

RATE_HZ = 48000


def test_nothing_is_heard_before_the_latency_has_passed() -> None:
    """Asked at 0 s for a block with 0.1 s of latency: silence until then, the first frame right after."""
    trace = Trace()
    trace.note(0.0, 9600, serial=1, frame=50, moved=9600, version=0)
    assert trace.read(0.05, 0.1, RATE_HZ, 1) is None
    heard = trace.read(0.1 + 100.5 / RATE_HZ, 0.1, RATE_HZ, 1)
    assert heard is not None
    assert heard.frame == 150
    assert trace.read(0.2, 0.1, RATE_HZ, 2) is None


def test_the_head_never_runs_past_what_was_written() -> None:
    """A device that stands still for a second is told to stand at the end of its last block."""
    trace = Trace()
    trace.note(0.0, 256, serial=1, frame=0, moved=256, version=0)
    heard = trace.read(1.0, 0.1, RATE_HZ, 1)
    assert heard is not None
    assert heard.frame == 256


def test_a_reader_never_sees_a_torn_row() -> None:
    """While another thread writes rows in which version = frame = number of the block, all reads agree."""
    trace, stop = Trace(), threading.Event()

    def write() -> None:
        number = 0
        while not stop.is_set():
            trace.note(number * 1e-3, 48, serial=1, frame=number, moved=0, version=number)
            number += 1
            time.sleep(5e-5)

    writer = threading.Thread(target=write)
    writer.start()
    try:
        while trace.count < 2 * ROWS:
            time.sleep(0.01)
        last = -1
        for _ in range(1000):
            heard = trace.read(trace.count * 1e-3, 0.05, RATE_HZ, 1)
            assert heard is not None
            assert heard.frame == heard.version
            last = max(last, heard.frame)
    finally:
        stop.set()
        writer.join()
    assert last > ROWS
