"""A workshop that makes a trial when it is collected."""

from __future__ import annotations

from trainer.exercise.trial import PreparedTrial, TrialSpec
from trainer.workshop.bench import Bench


class InlineWorkshop:
    """Make trials in the calling process; for the terminal and for files, where nothing else must go on."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self._spec: TrialSpec | None = None

    def open(self) -> None:
        """Get ready: nothing is needed."""

    def submit(self, spec: TrialSpec) -> None:
        """Ask for a trial."""
        self._spec = spec

    def collect(self) -> PreparedTrial | None:
        """Make it."""
        spec, self._spec = self._spec, None
        return None if spec is None else self._bench.make(spec)

    def close(self) -> None:
        """Let go of nothing."""
