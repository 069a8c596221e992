"""All long work of one session, at one desk: bounces on the beam, and mixes on their way."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any

from trainer.app.conditions import Conditions
from trainer.workshop.desk import Tell

if TYPE_CHECKING:
    from trainer.app.desk import WorkDesk
    from trainer.app.mix_desk import MixDesk


class AllWork:
    """Pass each job to the desk that knows it.

    Parameters
    ----------
    conditions : Conditions
        Where targets of one's own lie.
    """

    def __init__(self, conditions: Conditions) -> None:
        self._conditions = conditions

    def do(self, job: Any, tell: Tell) -> Any:
        """Do a job; see the desks."""
        from trainer.decisions.beam import BeamJob, CopiesJob, PageJob

        of_bounces = isinstance(job, (BeamJob, CopiesJob, PageJob))
        return self._bounces.do(job, tell) if of_bounces else self._mixes.do(job, tell)

    @cached_property
    def _bounces(self) -> WorkDesk:
        """The desk of bounces, set up when it is needed, in the process that does the work."""
        from trainer.app.desk import WorkDesk

        return WorkDesk(self._conditions.data)

    @cached_property
    def _mixes(self) -> MixDesk:
        """The desk of mixes, set up when it is needed: it brings most of the program along."""
        from trainer.app.mix_desk import MixDesk

        return MixDesk(self._conditions)


def make_work(conditions: Conditions) -> AllWork:
    """Make the desk; the child process does it by this name."""
    return AllWork(conditions)
