"""A workshop in a process of its own, so that making a trial never makes the sound stutter."""

from __future__ import annotations

import multiprocessing
import os
import threading
from collections.abc import Mapping
from multiprocessing.connection import Connection, wait

from trainer.dsp.move import Move
from trainer.dsp.moves import MOVES
from trainer.errors import EvenhandError
from trainer.exercise.song import SongEntry
from trainer.exercise.trial import PreparedTrial, TrialSpec
from trainer.workshop.bench import Bench, ReadSong

CLOSE_S = 2.0
NICENESS = 5


class ProcessWorkshop:
    """Make trials in a child process, started when it is opened, that ends when this process ends, however it ends.

    Parameters
    ----------
    entries : tuple of SongEntry
        The songs; read by the child.
    read_song : callable
        Reads one; importable by name.
    moves : mapping of str to Move
        The moves by name; they can be sent to another process.
    """

    def __init__(self, entries: tuple[SongEntry, ...], read_song: ReadSong, moves: Mapping[str, Move] = MOVES) -> None:
        context = multiprocessing.get_context("spawn")
        self._pipe, self._theirs = context.Pipe()
        arguments = (self._theirs, entries, read_song, moves)
        self._process = context.Process(target=serve, args=arguments, daemon=True)
        self._ticket = 0

    def open(self) -> None:
        """Start the child, unless it was."""
        if self._process.pid is None:
            self._process.start()
            self._theirs.close()

    def submit(self, spec: TrialSpec) -> None:
        """Ask for a trial; the answer to an earlier wish is dropped when it comes."""
        self.open()
        self._ticket += 1
        try:
            self._pipe.send((self._ticket, spec))
        except OSError:
            raise EvenhandError("workshop: process=ended, expected one that runs; start Evenhand again") from None

    def collect(self) -> PreparedTrial | None:
        """Give the trial when it is ready.

        Raises
        ------
        EvenhandError
            If it could not be made, or the process has ended.
        """
        try:
            while self._pipe.poll():
                ticket, made = self._pipe.recv()
                if ticket == self._ticket:
                    return _unpack(made)
        except (EOFError, OSError):
            raise EvenhandError("workshop: process=ended, expected one that runs; start Evenhand again") from None
        return None

    def close(self) -> None:
        """End the child."""
        self._pipe.close()
        if self._process.pid is None:
            self._theirs.close()
            return
        self._process.join(CLOSE_S)
        if self._process.is_alive():
            self._process.terminate()


def serve(
    pipe: Connection, entries: tuple[SongEntry, ...], read_song: ReadSong, moves: Mapping[str, Move] = MOVES
) -> None:
    """Run in the child: make trials until the other end of the pipe is gone."""
    work_beside()
    bench = Bench(entries, read_song, moves)
    try:
        while True:
            ticket, spec = _receive_latest(pipe)
            pipe.send((ticket, _make(bench, spec)))
    except (EOFError, OSError, KeyboardInterrupt):
        return


def _receive_latest(pipe: Connection) -> tuple[int, TrialSpec]:
    """Wait for a wish, and pass over those that a newer one has replaced."""
    ticket, spec = pipe.recv()
    while pipe.poll():
        ticket, spec = pipe.recv()
    return ticket, spec


def _make(bench: Bench, spec: TrialSpec) -> PreparedTrial | str:
    """Make a trial, or say in words why it could not be made."""
    try:
        return bench.make(spec)
    except EvenhandError as error:
        return str(error)
    except Exception as error:  # a fault of ours must reach the screen as a line, not end the child
        return f"workshop: {type(error).__name__}={error}, expected a trial"


def _unpack(made: PreparedTrial | str) -> PreparedTrial:
    if isinstance(made, str):
        raise EvenhandError(made)
    return made


def work_beside() -> None:
    """Make this process one that works for its parent: it ends with it, and the window and the sound go first."""
    threading.Thread(target=end_with_parent, daemon=True).start()
    if hasattr(os, "nice"):  # Windows has none
        os.nice(NICENESS)


def end_with_parent() -> None:
    """End at once when the parent has ended, even in the middle of work."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(0)
