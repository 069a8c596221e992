"""Long work in a process of its own: news, results, lines, and giving up."""

from __future__ import annotations

import time
from collections.abc import Callable

import pytest

from trainer.errors import BadValue, EvenhandError
from trainer.ports import Finished, Stage
from trainer.workshop.desk import InlineWorker, ProcessWorker, Tell


class Counter:
    """Count jobs, wait, or fail, as the job says."""

    def __init__(self) -> None:
        self._jobs = 0

    def do(self, job: str, tell: Tell) -> object:
        """Do a job."""
        self._jobs += 1
        if job == "bad":
            raise BadValue("file", "path", "x", "another one")
        if job == "broken":
            raise ZeroDivisionError("by hand")
        tell(0.5, "half")
        if job == "long":
            time.sleep(30)
        return self._jobs


def make_counter() -> Counter:
    """Make the desk; importable by name."""
    return Counter()


def collect(worker: ProcessWorker, wanted: Callable[[object], bool], wait_s: float = 30.0) -> object:
    """Wait for news."""
    until = time.monotonic() + wait_s
    while time.monotonic() < until:
        news = worker.collect()
        if news is not None and wanted(news):
            return news
        time.sleep(0.02)
    raise AssertionError("no news")


def test_a_desk_keeps_what_it_knows_between_jobs_and_tells_how_far_it_is() -> None:
    """The second job finds what the first one left; news comes before the result; faults come as lines."""
    worker = ProcessWorker(make_counter)
    try:
        worker.submit("short")
        assert collect(worker, lambda news: isinstance(news, Finished)) == Finished(1)
        worker.submit("short")
        assert collect(worker, lambda news: isinstance(news, Finished)) == Finished(2)
        for job, line in (("bad", "file: path=x, expected another one"), ("broken", "work: ZeroDivisionError=by hand")):
            worker.submit(job)
            with pytest.raises(EvenhandError, match=line):
                collect(worker, lambda news: isinstance(news, Finished))
    finally:
        worker.close()


def test_work_is_given_up_at_once_and_another_job_begun() -> None:
    """A job that takes half a minute; the next one is done in a fresh process."""
    worker = ProcessWorker(make_counter)
    try:
        worker.submit("long")
        assert collect(worker, lambda news: isinstance(news, Stage)) == Stage(0.5, "half")
        begun = time.monotonic()
        worker.submit("short")
        assert collect(worker, lambda news: isinstance(news, Finished)) == Finished(1)
        worker.submit("long")
        worker.cancel()
        assert worker.collect() is None and time.monotonic() - begun < 25
    finally:
        worker.close()
        worker.close()


def test_in_the_same_process_a_job_is_done_when_it_is_collected() -> None:
    """Once; what was cancelled is not done."""
    worker = InlineWorker(Counter())
    worker.submit("short")
    assert worker.collect() == Finished(1) and worker.collect() is None
    worker.submit("short")
    worker.cancel()
    assert worker.collect() is None
