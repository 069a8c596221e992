"""Long work in a process of its own: jobs are sent to a desk there, which tells how far it is."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable
from functools import partial
from multiprocessing.connection import Connection
from typing import Any, Protocol

from trainer.errors import EvenhandError
from trainer.ports import Finished, Stage
from trainer.workshop.process import CLOSE_S, work_beside

Tell = Callable[[float, str], None]


class Desk(Protocol):
    """Do jobs, and keep what the next one may need."""

    def do(self, job: Any, tell: Tell) -> Any:
        """Do a job, telling how far it is, 0–1, and what is being done.

        Raises
        ------
        EvenhandError
            If it cannot be done.
        """
        ...


class InlineWorker:
    """Do a job when it is collected, in the calling process; for the terminal, where nothing else must go on."""

    def __init__(self, desk: Desk, tell: Tell | None = None) -> None:
        self._desk, self._tell = desk, tell or (lambda fraction, words: None)
        self._job: Any = None

    def submit(self, job: Any) -> None:
        """Ask for a job."""
        self._job = job

    def collect(self) -> Stage | Finished | None:
        """Do it."""
        job, self._job = self._job, None
        return None if job is None else Finished(self._desk.do(job, self._tell))

    def cancel(self) -> None:
        """Forget it."""
        self._job = None

    def close(self) -> None:
        """Let go of nothing."""


class ProcessWorker:
    """Do jobs in a child process, started with the first of them, that ends when this process ends.

    Parameters
    ----------
    make_desk : callable
        Makes the desk in the child; importable by name.
    """

    def __init__(self, make_desk: Callable[[], Desk]) -> None:
        self._make_desk = make_desk
        self._child: tuple[multiprocessing.process.BaseProcess, Connection] | None = None
        self._ticket = 0
        self._busy = False

    def submit(self, job: Any) -> None:
        """Begin a job; where another one is under way, its process is ended and a new one begun."""
        if self._busy:
            self.cancel()
        self._ticket += 1
        self._busy = True
        try:
            self._open().send((self._ticket, job))
        except OSError:
            self.cancel()
            raise EvenhandError("work: process=ended, expected one that runs; try again") from None

    def collect(self) -> Stage | Finished | None:
        """Give the last news of the job."""
        if self._child is None:
            return None
        news: Stage | Finished | None = None
        try:
            while self._child[1].poll():
                ticket, came = self._child[1].recv()
                if ticket != self._ticket:
                    continue
                if isinstance(came, Stage):
                    news = came
                    continue
                self._busy = False
                if isinstance(came, EvenhandError):
                    raise came
                return Finished(came)
        except (EOFError, OSError):
            self.cancel()
            raise EvenhandError("work: process=ended, expected one that runs; try again") from None
        return news

    def cancel(self) -> None:
        """End the process, and with it the job; what it had read is read again when it is needed."""
        child, self._child, self._busy = self._child, None, False
        if child is not None:
            child[0].terminate()
            child[0].join(CLOSE_S)
            child[1].close()

    def close(self) -> None:
        """End the child."""
        self.cancel()

    def _open(self) -> Connection:
        """Start the child, unless it runs."""
        if self._child is None:
            context = multiprocessing.get_context("spawn")
            ours, theirs = context.Pipe()
            process = context.Process(target=serve_desk, args=(theirs, self._make_desk), daemon=True)
            process.start()
            theirs.close()
            self._child = (process, ours)
        return self._child[1]


def serve_desk(pipe: Connection, make_desk: Callable[[], Desk]) -> None:
    """Run in the child: do jobs until the other end of the pipe is gone."""
    work_beside()
    try:
        desk = make_desk()
        while True:
            ticket, job = pipe.recv()
            pipe.send((ticket, _do(desk, job, partial(_tell, pipe, ticket))))
    except (EOFError, OSError, KeyboardInterrupt):
        return


def _tell(pipe: Connection, ticket: int, fraction: float, words: str) -> None:
    """Send how far the work is."""
    pipe.send((ticket, Stage(fraction, words)))


def _do(desk: Desk, job: Any, tell: Tell) -> Any:
    """Do a job, or say in words why it could not be done."""
    try:
        return desk.do(job, tell)
    except EvenhandError as error:
        return EvenhandError(str(error))
    except OSError as error:
        return EvenhandError(f"work: system={error.strerror or error}, expected files and a disk that can be used")
    except Exception as error:  # a fault of ours must reach the screen as a line, not end the child
        return EvenhandError(f"work: {type(error).__name__}={error}, expected a result")
