"""What the workshop needs to know of a song to make it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from .score import Section, Timeline
from .signal import Audio


@dataclass(frozen=True)
class Song:
    """A song: its facts on paper, how its parts are played and how they are mixed."""

    slug: str
    title: str
    style: str
    key: str
    timeline: Timeline
    sections: tuple[Section, ...]
    seed: int
    perform: Callable[[], dict[str, Audio]]
    combine: Callable[[Mapping[str, Audio]], dict[str, Audio]]
    sources: Mapping[str, str]
