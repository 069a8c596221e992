"""From a wish to a trial: the loop is cut, the move is made and measured, the versions are matched and guarded."""

from __future__ import annotations

import zlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from trainer.audio.clip import Clip
from trainer.audio.loops import cut_loop, outline_loop
from trainer.dsp.difference import Difference, make_difference
from trainer.dsp.matching import PEAK_MARGIN_DB, MatchedLoop, level_loops, match_loops, turn_loop
from trainer.dsp.move import Move
from trainer.dsp.moves import MOVES
from trainer.errors import BadValue, NotReachable
from trainer.exercise.excerpts import Candidate, choose_candidate, describe_excerpt, list_candidates
from trainer.exercise.forms import FORMS
from trainer.exercise.song import Song
from trainer.exercise.trial import PreparedTrial, TrialSpec, Version
from trainer.measure.contents import measure_contents
from trainer.measure.standards import CEILING_DBTP
from trainer.measure.true_peak import measure_loop_true_peak

# The place in the song stays the same for so many trials, so that the ear can settle on it.
TRIALS_AT_ONE_PLACE = 5
OUTLINE_COLUMNS = 200
TRIES = 4

ListCandidates = Callable[[Song, Move, dict[str, float]], tuple[Candidate, ...]]


@dataclass(frozen=True)
class _Made:
    """The move on one loop."""

    before: MatchedLoop
    after: MatchedLoop
    settings: dict[str, float]


def find_candidates(song: Song, move: Move, settings: dict[str, float]) -> tuple[Candidate, ...]:
    """Measure a song's contents and list the loops that a move can be asked on; see `list_candidates`."""
    contents = measure_contents(song.clip.samples, song.clip.rate_hz, move.bands_hz(settings))
    return list_candidates(song, contents, move, settings)


def prepare_trial(
    songs: Sequence[Song],
    spec: TrialSpec,
    candidates_of: ListCandidates = find_candidates,
    moves: Mapping[str, Move] = MOVES,
) -> PreparedTrial:
    """Make a trial. The same songs and specification give the same trial, sample for sample.

    Parameters
    ----------
    songs : sequence of Song
        One or more; by lot one of those that hold what the move needs.
    spec : TrialSpec
        What is wanted.
    candidates_of : callable
        Lists the possible loops of a song; a caller may keep the answers.
    moves : mapping of str to Move
        The moves by name.

    Returns
    -------
    PreparedTrial
        Equally loud versions, guarded by a second meter, all under −1 dBTP.

    Raises
    ------
    BadValue
        If no song fits, or a guard refuses what was made.
    NotReachable
        If the amount cannot be had.
    """
    move, form = moves[spec.drill.move], FORMS[spec.drill.form]
    song_rng, place_rng, order_rng = _generators(spec)
    song, candidates = _choose_song(songs, spec, move, song_rng, candidates_of)
    candidate, made = _make_somewhere(song, candidates, spec, move, place_rng)
    arrangement = (False, True) if spec.demonstration else form.arrange(order_rng)
    return _assemble(song, candidate, made, spec, move, arrangement)


def _generators(spec: TrialSpec) -> tuple[np.random.Generator, np.random.Generator, np.random.Generator]:
    """Generators for the song and the place, the same for several trials, and for the order of the versions.

    They are apart, so that a trial comes out the same again when only its own song is at hand.
    """
    name, stay = zlib.crc32(spec.drill.drill.encode()), spec.index // TRIALS_AT_ONE_PLACE
    return (
        np.random.default_rng([spec.seed, name, 0, stay]),
        np.random.default_rng([spec.seed, name, 1, stay]),
        np.random.default_rng([spec.seed, name, 2, spec.index]),
    )


def _choose_song(
    songs: Sequence[Song],
    spec: TrialSpec,
    move: Move,
    rng: np.random.Generator,
    candidates_of: ListCandidates,
) -> tuple[Song, tuple[Candidate, ...]]:
    """Take the first song, in an order by lot, that holds what the move needs."""
    refusal: BadValue | None = None
    for number in rng.permutation(len(songs)):
        song = songs[int(number)]
        try:
            return song, candidates_of(song, move, spec.drill.settings)
        except BadValue as error:
            refusal = error
    raise refusal or BadValue("songs", "count", 0, "at least one song")


def _make_somewhere(
    song: Song, candidates: tuple[Candidate, ...], spec: TrialSpec, move: Move, rng: np.random.Generator
) -> tuple[Candidate, _Made]:
    """Make the move at a place by lot, or at another one where that place does not allow the amount."""
    refusal: NotReachable | None = None
    for _ in range(TRIES):
        candidate = choose_candidate(candidates, rng)
        try:
            return candidate, _make(cut_loop(song.clip, candidate.start_frame, candidate.frames), spec, move)
        except NotReachable as error:
            refusal = error
    assert refusal is not None
    raise refusal


def _make(loop: Clip, spec: TrialSpec, move: Move) -> _Made:
    """Make the move on a loop and bring both versions to one loudness."""
    before = move.prepare(loop)
    settings = move.solve(before, spec.amount, spec.drill.settings)
    versions = (move.refer(before, settings), move.render(before, settings))
    first, second = match_loops(versions) if move.matched else level_loops(versions)
    return _Made(first, second, settings)


def _assemble(
    song: Song, candidate: Candidate, made: _Made, spec: TrialSpec, move: Move, arrangement: tuple[bool, ...]
) -> PreparedTrial:
    """Lay the versions out, measure the effect on them, and describe them."""
    before, after = made.before.loop, made.after.loop
    effect = move.measure(before, after, made.settings, made.after.gain_db - made.before.gain_db)
    change = _keep_below_ceiling(make_difference(before, after, move.linear))
    form = FORMS[spec.drill.form]
    order = [made.after if processed else made.before for processed in arrangement]
    return PreparedTrial(
        spec=spec,
        song=song.entry,
        sha256=song.sha256,
        excerpt=describe_excerpt(song, candidate),
        rate_hz=before.rate_hz,
        sounds=np.stack([*(item.loop.samples for item in order), change.loop.samples]),
        versions=tuple(_describe(i + 1, p, m) for i, (p, m) in enumerate(zip(arrangement, order, strict=True))),
        answers=form.list_answers(arrangement),
        right_answer=form.find_right(arrangement),
        asked={**made.settings, move.effect_name: spec.amount},
        effect_name=move.effect_name,
        effect=effect,
        change_db=change.level_db,
        outline=outline_loop(before.samples, OUTLINE_COLUMNS),
        loudness_matched=move.matched,
    )


def _keep_below_ceiling(change: Difference) -> Difference:
    """Turn a difference down where its own peaks would pass the ceiling of all that is played."""
    peak = measure_loop_true_peak(change.loop.samples, change.loop.rate_hz).dbtp
    excess = peak - (CEILING_DBTP - PEAK_MARGIN_DB)
    return change if excess <= 0 else Difference(turn_loop(change.loop, -excess), change.level_db - excess)


def _describe(number: int, processed: bool, item: MatchedLoop) -> Version:
    return Version(number, processed, item.gain_db, item.loudness_lufs, item.true_peak_dbtp)
