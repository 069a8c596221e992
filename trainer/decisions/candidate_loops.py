"""The loops by which decisions are heard: cut from whole-song renderings of some chains, matched on every stretch."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from trainer.audio.clip import Clip
from trainer.audio.loops import SHORTEST_LOOP_S, cut_loop
from trainer.decisions.bounces import STRETCH_S, Bounce, Stretch, propose_stretches
from trainer.decisions.evidence import Evidence
from trainer.dsp.band_limit import begin_band_limit
from trainer.dsp.matching import PLAYED_LUFS, MatchedLoop, match_loops, turn_loop
from trainer.dsp.moves import MOVES
from trainer.dsp.processor import TellShare, run_through, tell_nothing, tell_part
from trainer.dsp.song_chain import Step, render_song
from trainer.errors import BadValue
from trainer.measure.alignment import Recording
from trainer.measure.loudness import measure_integrated_lufs, measure_loop_lufs
from trainer.measure.standards import BLOCK_S
from trainer.measure.steps import STEP_S
from trainer.units import write_number

SongSection = tuple[str, float, float]
Chain = tuple[Step, ...]

# What lies further behind a stretch than this has no part in it: more than any latency and look-ahead.
BEHIND_S = 2.0
# A verse is the stretch in the middle of the song's loudness, and not the loudest nor the ending.
GRID_S = 0.5
SOFTEST_VERSE_LU = 20.0
# A song that is so far below its loudness only rings.
RINGING_LU = 15.0
# Roughly the part of the time that rendering takes; the rest is matching.
RENDERED = 0.8


@dataclass(frozen=True)
class StretchLoops:
    """Hold a stretch and the versions of it, equally loud, in the order of the chains."""

    name: str
    stretch: Stretch
    versions: tuple[MatchedLoop, ...]


def choose_stretches(song: Clip, evidence: Evidence, length_s: float | None = None) -> dict[str, Stretch]:
    """Choose the two stretches on which a candidate is heard: ``loudest``, and ``quiet``, which is no fade.

    Parameters
    ----------
    song : Clip
        The mix.
    evidence : Evidence
        What was measured of it.
    length_s : float, optional
        8 s if not given.

    Returns
    -------
    dict of str to Stretch
        As `bounces.propose_stretches`; one stretch where both would lie over each other for more than half.

    Raises
    ------
    BadValue
        If the song is silent or shorter than a loop.
    """
    if song.duration_s < SHORTEST_LOOP_S:
        length = write_number(song.duration_s, 2)
        raise BadValue(evidence.form.file, "duration_s", length, f"at least {SHORTEST_LOOP_S:g} s")
    frames = max(round(_find_last_playing_s(evidence) * song.rate_hz), round(SHORTEST_LOOP_S * song.rate_hz))
    bounce = Bounce(evidence.form.file, Recording(song.samples[:frames], song.rate_hz), evidence)
    found = propose_stretches((bounce,), length_s)
    if not found:
        raise BadValue(evidence.form.file, "loudness_lufs", "−∞", "a song with sound in it")
    if abs(found["quiet"].start_s - found["loudest"].start_s) < (found["loudest"].end_s - found["loudest"].start_s) / 2:
        return {"loudest": found["loudest"]}
    return found


def choose_last_stretches(
    song: Clip, evidence: Evidence, sections: Sequence[SongSection] = (), end_s: float | None = None
) -> dict[str, Stretch]:
    """Choose where the whole chain is heard against the untouched mix: verse, chorus and ending.

    Parameters
    ----------
    song : Clip
        The mix.
    evidence : Evidence
        What was measured of it.
    sections : sequence of (str, float, float)
        Parts that are known by name, with start and end, s; their names decide where they are known.
    end_s : float, optional
        Where the song ends; its last sound if not given.

    Returns
    -------
    dict of str to Stretch
        ``verse``, ``chorus``, ``ending``; those that the song is long enough for.
    """
    length_s = min(STRETCH_S, math.floor(song.duration_s * 10) / 10)
    silence = evidence.scan.edges.tail_silence_s or 0.0
    last_s = song.duration_s - silence if end_s is None else min(end_s, song.duration_s)
    ending = Stretch(round(max(0.0, last_s - length_s), 6), round(max(0.0, last_s - length_s) + length_s, 6))
    chorus = choose_stretches(song, evidence)["loudest"]
    named = {word: _find_section(sections, word, length_s) for word in ("verse", "chorus")}
    chorus = named["chorus"] or chorus
    verse = named["verse"] or _find_verse(evidence, length_s, last_s, (chorus, ending))
    found = {"verse": verse, "chorus": chorus, "ending": ending}
    return {name: place for name, place in found.items() if place is not None and place.end_s <= song.duration_s + 1e-6}


def cut_versions(
    song: Clip,
    chains: Sequence[Sequence[Step]],
    stretches: dict[str, Stretch],
    tell: TellShare = tell_nothing,
) -> tuple[StretchLoops, ...]:
    """Render a song through some chains, cut the same stretches from each, and match them stretch by stretch.

    Every chain runs from the song's first frame, so that its state is that of the song. Where one of them holds a
    ceiling, the others get the same gentle end at 21 kHz.

    Parameters
    ----------
    song : Clip
        The mix.
    chains : sequence of sequences of Step
        The versions: the moves kept so far, the same with a candidate; for rungs one chain each. Without steps it is
        the untouched mix.
    stretches : dict of str to Stretch
        Where; ``ending`` is not turned up against its song.
    tell : callable
        Is told how much of the work is done, 0 to 1.

    Returns
    -------
    tuple of StretchLoops
        In the order of the stretches.

    Raises
    ------
    BadValue
        If a stretch does not lie inside the song, or is silent in a version.
    """
    needed = min(song.frames, round((max(place.end_s for place in stretches.values()) + BEHIND_S) * song.rate_hz))
    part = song if needed == song.frames else song.with_samples(song.samples[:needed])
    limited = any(_holds_ceiling(chain) for chain in chains)
    cut: list[list[Clip]] = [[] for _ in stretches]
    for number, chain in enumerate(chains):
        told = tell_part(tell, RENDERED * number / len(chains), RENDERED / len(chains))
        made = render_song(part, chain, tell=told)
        if limited and not _holds_ceiling(chain):
            made = run_through(begin_band_limit(song.rate_hz), made)
        for loops, loop in zip(cut, cut_stretches(made, tuple(stretches.values())), strict=True):
            loops.append(loop)
    found: list[StretchLoops] = []
    for (name, place), loops in zip(stretches.items(), cut, strict=True):
        matched = match_versions(tuple(loops), PLAYED_LUFS + _find_under(song, name, place))
        found.append(StretchLoops(name, place, matched))
        tell(RENDERED + (1 - RENDERED) * len(found) / len(stretches))
    return tuple(found)


def cut_stretches(song: Clip, stretches: Sequence[Stretch]) -> tuple[Clip, ...]:
    """Cut stretches from a rendered song as loops, each with its seam baked in."""
    rate = song.rate_hz
    return tuple(
        cut_loop(song, round(place.start_s * rate), round((place.end_s - place.start_s) * rate)) for place in stretches
    )


def match_versions(loops: tuple[Clip, ...], played_lufs: float = PLAYED_LUFS) -> tuple[MatchedLoop, ...]:
    """Bring versions of a stretch to one loudness, also where it falls away into silence.

    What is turned up or down far moves blocks across the gate at −70 LUFS, and is not as loud then as was foreseen.
    So each is turned near to its level first, and matched there.

    Raises
    ------
    BadValue
        As `dsp.matching.match_loops`.
    """
    gains = [played_lufs - measure_loop_lufs(loop.samples, loop.rate_hz) for loop in loops]
    if not all(math.isfinite(gain_db) for gain_db in gains):
        return match_loops(loops, played_lufs)
    near = tuple(turn_loop(loop, gain_db) for loop, gain_db in zip(loops, gains, strict=True))
    matched = match_loops(near, played_lufs)
    return tuple(replace(each, gain_db=each.gain_db + gain_db) for each, gain_db in zip(matched, gains, strict=True))


def list_without_each(chain: Sequence[Step]) -> tuple[Chain, ...]:
    """List a chain without each of its steps in turn, in their order."""
    return tuple(tuple(chain[:place]) + tuple(chain[place + 1 :]) for place in range(len(chain)))


def _find_last_playing_s(evidence: Evidence) -> float:
    """Find where the song stops to play and only rings, s; its end where it never is that loud."""
    loudness = evidence.programme.loudness
    playing = np.flatnonzero(loudness.momentary_lufs > loudness.integrated_lufs - RINGING_LU)
    ends_s = (int(playing[-1]) if playing.size else loudness.power.size) * STEP_S + BLOCK_S
    return min(ends_s, evidence.programme.duration_s)


def _holds_ceiling(chain: Sequence[Step]) -> bool:
    """Tell whether a chain has the gentle end at 21 kHz already."""
    return any(getattr(MOVES.get(step.move), "holds_ceiling", False) for step in chain)


def _find_under(song: Clip, name: str, place: Stretch) -> float:
    """Find by how much an ending lies below its song, LU, 0 or less; 0 for every other stretch."""
    if name != "ending":
        return 0.0
    (loop,) = cut_stretches(song, (place,))
    under = measure_loop_lufs(loop.samples, song.rate_hz) - measure_integrated_lufs(song.samples, song.rate_hz)
    return min(0.0, under) if math.isfinite(under) else 0.0


def _find_section(sections: Sequence[SongSection], word: str, length_s: float) -> Stretch | None:
    """Find the first part named so that a stretch fits into; its first seconds."""
    for name, start_s, end_s in sections:
        if name.lower().startswith(word) and end_s - start_s >= length_s - 1e-6:
            return Stretch(round(start_s, 6), round(start_s + length_s, 6))
    return None


def _find_verse(evidence: Evidence, length_s: float, last_s: float, taken: Sequence[Stretch]) -> Stretch | None:
    """Find the stretch that is as loud as half of all others, apart from those that are taken."""
    power = evidence.programme.loudness.power
    total = np.concatenate([[0.0], np.cumsum(power)])
    width, places = round(length_s * 100), []
    for start in range(0, max(0, min(power.size, int(last_s * 100)) - width + 1), round(GRID_S * 100)):
        at_s = start / 100
        apart = all(at_s + length_s <= place.start_s or at_s >= place.end_s for place in taken)
        level = 10 * math.log10(max(float(total[start + width] - total[start]) / width, 1e-12))
        if apart:
            places.append((level, at_s))
    if not places:
        return None
    loudest = max(places)[0]
    fitting = sorted(place for place in places if place[0] > loudest - SOFTEST_VERSE_LU)
    at_s = fitting[len(fitting) // 2][1]
    return Stretch(round(at_s, 6), round(at_s + length_s, 6))
