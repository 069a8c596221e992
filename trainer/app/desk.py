"""The desk of long work: bounces are read once and kept, and put on the beam with any stretch."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import scipy

from trainer.app.weighing import ALIGNED, PROCESSORS, WeighWish, align_files, hash_bounce, write_copies, write_page
from trainer.decisions.beam import BeamJob, CopiesJob, OnBeam, PageJob, put_on_beam
from trainer.decisions.bounces import FEWEST, Bounce
from trainer.decisions.weighing import StretchWish, Weighing, weigh_bounces
from trainer.errors import BadValue, EvenhandError
from trainer.files.folders import choose_data_folder
from trainer.files.paths import identify_file
from trainer.workshop.desk import Tell


class WorkDesk:
    """Do the jobs there are; what was read for one serves the next.

    Parameters
    ----------
    data : str, optional
        The data folder, where targets of one's own lie.
    """

    def __init__(self, data: str | None = None) -> None:
        self._data = data
        self._key: tuple[object, ...] = ()
        self._bounces: tuple[Bounce, ...] = ()
        self._hashes: dict[str, str] = {}
        self._errors: tuple[EvenhandError, ...] = ()

    def do(self, job: Any, tell: Tell) -> Any:
        """Do a job.

        Raises
        ------
        EvenhandError
            If it cannot be done.
        """
        if isinstance(job, BeamJob):
            return self._put_on_beam(job, tell)
        if isinstance(job, CopiesJob):
            return self._write_copies(job, tell)
        if isinstance(job, PageJob):
            return self._write_page(job, tell)
        raise BadValue("work", "job", type(job).__name__, "one that the desk knows")

    def _put_on_beam(self, job: BeamJob, tell: Tell) -> OnBeam:
        """Bring files into step, or take them as they were, and match a stretch."""
        weighing, errors = self._weigh(job, tell)
        hashes = tuple(self._hashes[bounce.evidence.form.file] for bounce in weighing.bounces)
        return put_on_beam(weighing, hashes, tuple(str(error) for error in errors))

    def _write_copies(self, job: CopiesJob, tell: Tell) -> str:
        """Write what is heard to a folder; gives its path."""
        weighing, _ = self._weigh(job.beam, tell)
        write_copies(weighing, WeighWish(list(job.beam.files), StretchWish(), job.folder))
        return str(Path(job.folder).expanduser().resolve())

    def _write_page(self, job: PageJob, tell: Tell) -> str:
        """Write all that is known as one page; gives its path."""
        weighing, errors = self._weigh(job.beam, tell)
        place = Path(job.place).expanduser()
        write_page(weighing, place, choose_data_folder(self._data), errors, job.rounds)
        return str(place.resolve())

    def _weigh(self, job: BeamJob, tell: Tell) -> tuple[Weighing, tuple[EvenhandError, ...]]:
        """Weigh a stretch of files.

        Raises
        ------
        EvenhandError
            With every line, where fewer than two files are left.
        """
        key = tuple(identify_file(file) for file in job.files)
        if key != self._key:
            self._key, self._bounces = (), ()
            self._bounces, self._errors = align_files(list(job.files), tell)
            self._hashes = {bounce.evidence.form.file: hash_bounce(bounce) for bounce in self._bounces}
            self._key = key
        if len(self._bounces) < FEWEST:
            raise EvenhandError("\n".join(str(error) for error in self._errors))
        tell(ALIGNED, "Matching and comparing")
        with scipy.fft.set_workers(PROCESSORS):
            weighing, refused = weigh_bounces(self._bounces, StretchWish(job.start_s, job.length_s))
        if weighing is None:
            raise EvenhandError("\n".join(str(error) for error in (*self._errors, *refused)))
        return weighing, (*self._errors, *refused)


def make_desk() -> WorkDesk:
    """Make a desk; the child process does it by this name."""
    return WorkDesk()
