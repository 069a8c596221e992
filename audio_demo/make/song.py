"""What the workshop needs to know of a song to make it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from .score import Section, Timeline
from .signal import Audio

# What an ordinary mix before mastering measures (common practice, no source); a song of another
# kind states its own windows for what differs.
ORDINARY: Mapping[str, tuple[float, float]] = {
    "integrated_lufs": (-20.0, -15.0),
    "true_peak_dbtp": (-6.0, -3.0),
    "loudness_range_lu": (3.0, 9.0),
    "peak_to_loudness_db": (12.0, 17.0),
    "correlation": (0.1, 0.95),
    "mono_change_lu": (-3.0, 3.0),
    "chorus_over_verse_lu": (2.0, 8.0),
}


@dataclass(frozen=True)
class Stem:
    """A part of which the mix's share is kept in a file of its own, and the strips that belong to it.

    Of the 16 bits the uppermost ``bits`` are used and the rest stay zero, which FLAC stores for nothing:
    a broad, breathy part costs a third less with 13, and its dither still lies far below the mix.
    """

    part: str
    strips: tuple[str, ...]
    bits: int = 16


@dataclass(frozen=True)
class Song:
    """A song: its facts on paper, how its parts are played and how they are mixed.

    ``isolate`` returns what some strips add to the sum, with their share of the spaces, from what
    ``combine`` returned. ``finish`` takes the place of the usual fader and fade if it is given.
    ``traits`` are words a test goes by: ``backbeat`` for a snare on two and four of the choruses,
    ``voice``, ``sparse start`` for a first verse without bass and drums, ``long tail``. ``windows``
    holds what differs from ``ORDINARY``. ``reference`` is another, finished song of the same style and
    tempo that is kept beside it. Of the 16 bits the uppermost ``bits`` are used, as in a stem.
    """

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
    traits: tuple[str, ...] = ()
    windows: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    stems: tuple[Stem, ...] = ()
    isolate: Callable[[Mapping[str, Audio], Sequence[str]], Audio] | None = None
    finish: Callable[[Audio], Audio] | None = None
    reference: Song | None = None
    bits: int = 16
