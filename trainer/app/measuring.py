"""Files measured, for `evenhand measure`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from trainer.decisions.facts import list_facts
from trainer.errors import EvenhandError
from trainer.files.sound_blocks import open_sound
from trainer.measure.programme import ProgrammeMeter
from trainer.measure.steps import block_frames


def measure_file(path: str) -> dict[str, Any]:
    """Measure one file; gives its facts.

    Raises
    ------
    BadValue
        If it cannot be read.
    """
    with open_sound(path) as sound:
        meter = ProgrammeMeter(sound.form.sample_rate_hz, sound.form.channels)
        for block in sound.read(block_frames(sound.form.sample_rate_hz)):
            meter.add(block)
        return list_facts(sound.form, meter.finish())


def measure_files(paths: list[str]) -> Iterator[dict[str, Any] | EvenhandError]:
    """Measure files one after the other; a bad one gives its error and does not stop the rest."""
    for path in paths:
        try:
            yield measure_file(path)
        except EvenhandError as error:
            yield error
