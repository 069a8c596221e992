"""What the global options say."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from trainer.files.folders import choose_data_folder, open_folder


@dataclass(frozen=True)
class Conditions:
    """What the global options say: data folder, listening set-up."""

    data: str | None = None
    setup: str | None = None

    @property
    def folder(self) -> Path:
        """The data folder, made and seen to be writable."""
        return open_folder(choose_data_folder(self.data), "data folder")
