"""Where in a song a loop is cut: on bars where they are known, and only where the move has something to act on."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from trainer.audio.loops import LONGEST_LOOP_S, SEAM_S, SHORTEST_LOOP_S
from trainer.dsp.move import Move, Need, Settings
from trainer.dsp.needs import need_loud_part
from trainer.errors import BadValue
from trainer.exercise.song import Section, Song
from trainer.exercise.trial import Excerpt
from trainer.measure.contents import SongContents, StretchContents
from trainer.units import write_number

LOOP_S = 8.0
# An ending may be cut a little before the file's last frame.
ENDINGS_BACK_S = (0.0, 0.5, 1.0)
STRIDE_S = 0.5
# A loop is not cut where the song has nearly stopped, nor far below its loudest part.
SOFTEST_SECOND_DB = -14.0
BELOW_LOUDEST_DB = 14.0


@dataclass(frozen=True)
class Candidate:
    """A possible loop: place in frames, what it holds, and by how much the scarcest need is more than met."""

    start_frame: int
    frames: int
    contents: StretchContents
    spare: float
    missing: Need | None


def list_candidates(song: Song, contents: SongContents, move: Move, settings: Settings) -> tuple[Candidate, ...]:
    """List the loops of a song on which a move can be asked, the fittest first.

    Parameters
    ----------
    song : Song
        The song.
    contents : SongContents
        Measured with the move's corners.
    move : Move
        The move.
    settings : Settings
        The drill's fixed settings.

    Returns
    -------
    tuple of Candidate
        One or more.

    Raises
    ------
    BadValue
        If the song is too short, or holds no place with what the move needs; the line says what is missing.
    """
    places = _list_endings(song) if move.at_ending else _list_places(song)
    measured = [(place, contents.cut(place[0] / song.clip.rate_hz, place[1] / song.clip.rate_hz)) for place in places]
    loudest = max(facts.loudness_db for _, facts in measured)
    candidates = [
        _judge(place, replace(facts, under_loudest_db=facts.loudness_db - loudest), move, settings)
        for place, facts in measured
    ]
    fitting = [candidate for candidate in candidates if candidate.missing is None]
    if not fitting:
        nearest = max(candidates, key=lambda candidate: candidate.spare)
        assert nearest.missing is not None
        raise BadValue(
            song.entry.title,
            nearest.missing.name,
            write_number(nearest.missing.value),
            nearest.missing.expected,
        )
    return tuple(sorted(fitting, key=lambda candidate: -candidate.spare))


def choose_candidate(candidates: tuple[Candidate, ...], rng: np.random.Generator) -> Candidate:
    """Choose by lot among the fitter half."""
    return candidates[int(rng.integers(max(1, (len(candidates) + 1) // 2)))]


def describe_excerpt(song: Song, candidate: Candidate, beside: str = "") -> Excerpt:
    """Name the place of a loop: song, section, bars, and the title of a song it is set beside."""
    rate = song.clip.rate_hz
    start, end = candidate.start_frame / rate, (candidate.start_frame + candidate.frames) / rate
    middle = (start + end) / 2
    section = next((s.name for s in song.entry.sections if s.start_s <= middle < s.end_s), "")
    words = [song.entry.title, section]
    if song.entry.bars is not None:
        count = round((end - start) / song.entry.bars.length_s)
        words.append(f"{_COUNT_WORDS.get(count, str(count))} bar{'s' if count != 1 else ''}")
    if beside:
        words.append(f"beside {beside}")
    return Excerpt(start, end, ", ".join(word for word in words if word))


_COUNT_WORDS = {1: "one", 2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 8: "eight"}


def _list_places(song: Song) -> list[tuple[int, int]]:
    """List starts and lengths in frames: whole bars where known, else every half second."""
    rate, total_s = song.clip.rate_hz, song.clip.duration_s
    if total_s < SHORTEST_LOOP_S:
        raise BadValue(song.entry.title, "duration_s", f"{total_s:.2f}", f"at least {SHORTEST_LOOP_S:g} s")
    if song.entry.bars is not None:
        first, bar = song.entry.bars.first_s, song.entry.bars.length_s
        length_s = _whole_bars_s(bar)
        starts = np.arange(first, total_s - length_s, bar) if length_s < total_s else np.empty(0)
    else:
        length_s = min(LOOP_S, total_s)
        starts = np.arange(min(SEAM_S, total_s - length_s), total_s - length_s + 1e-9, STRIDE_S)
    frames = min(int(round(length_s * rate)), song.clip.frames)
    places = [(int(round(start * rate)), frames) for start in starts]
    places = [place for place in places if place[0] + frames <= song.clip.frames] or [(0, frames)]
    return [place for place in places if lies_in_one_section(song.entry.sections, place, rate)] or places


def _list_endings(song: Song) -> list[tuple[int, int]]:
    """List loops that hold the end of a song, with more or less of the silence behind it."""
    rate, total_s = song.clip.rate_hz, song.clip.duration_s
    if total_s < SHORTEST_LOOP_S:
        raise BadValue(song.entry.title, "duration_s", f"{total_s:.2f}", f"at least {SHORTEST_LOOP_S:g} s")
    length_s = min(LOOP_S, total_s)
    starts = [total_s - length_s - back_s for back_s in ENDINGS_BACK_S if total_s - length_s - back_s >= 0]
    return [(int(start * rate), int(length_s * rate)) for start in starts]


def lies_in_one_section(sections: tuple[Section, ...], place: tuple[int, int], rate_hz: int) -> bool:
    """Tell whether a loop keeps to one part of the song, so that it does not change in the middle."""
    start, end = place[0] / rate_hz, (place[0] + place[1]) / rate_hz
    return any(part.start_s - 0.01 <= start and end <= part.end_s + 0.01 for part in sections)


def _whole_bars_s(bar_s: float) -> float:
    """Length of as many bars as come nearest to 8 s and lie within 4 to 20 s."""
    counts = [n for n in range(1, 33) if SHORTEST_LOOP_S <= n * bar_s <= LONGEST_LOOP_S]
    return min((n * bar_s for n in counts), key=lambda length: abs(length - LOOP_S), default=LOOP_S)


def _judge(place: tuple[int, int], facts: StretchContents, move: Move, settings: Settings) -> Candidate:
    """Compare what a stretch holds with what is needed there."""
    needs = move.needs(facts, settings)
    if not move.at_ending:
        needs += _need_music(facts)
    spare = min(((need.value - need.least) / max(abs(need.least), 1.0) for need in needs), default=1.0)
    missing = [need for need in needs if not need.met]
    return Candidate(place[0], place[1], facts, spare, missing[0] if missing else None)


def _need_music(facts: StretchContents) -> tuple[Need, ...]:
    """Ask for a loud enough part without a stop in it."""
    return (
        need_loud_part(facts, BELOW_LOUDEST_DB, 0),
        Need(
            "softest_second_db",
            facts.softest_db - facts.loudness_db,
            SOFTEST_SECOND_DB,
            f"{write_number(SOFTEST_SECOND_DB, 0)} or more: music without a stop in it",
        ),
    )
