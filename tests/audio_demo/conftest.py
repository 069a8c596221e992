"""Every listed song in turn."""

from __future__ import annotations

import pytest

from tests.audio_demo.song_file import ENTRIES, SongFile, read


@pytest.fixture(params=ENTRIES, ids=lambda entry: str(entry["file"]).removesuffix(".flac"))
def song(request: pytest.FixtureRequest) -> SongFile:
    """Give each listed song."""
    return SongFile(request.param, *read(request.param["file"]))
