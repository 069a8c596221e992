"""Commands carried out in this process, which is much quicker than in their own."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.inside import Done
from trainer.cli import main


@pytest.fixture
def call(data_folder: Path, capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Callable[..., Done]:
    """Carry a command out."""
    monkeypatch.setenv("EVENHAND_DATA", str(data_folder))

    def carry_out(*arguments: object) -> Done:
        capfd.readouterr()
        status = main([str(argument) for argument in arguments])
        return Done(status, *capfd.readouterr())

    return carry_out
