"""From a wish to a trial: the loop is cut, the move is made and measured, the versions are matched and guarded."""

from __future__ import annotations

import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from trainer.audio.clip import Clip
from trainer.audio.loops import cut_loop, outline_loop
from trainer.dsp.difference import Difference, make_difference
from trainer.dsp.dynamics.song_push import SongPush
from trainer.dsp.matching import PEAK_MARGIN_DB, PLAYED_LUFS, MatchedLoop, level_loops, match_loops, turn_loop
from trainer.dsp.move import Effect, Move
from trainer.dsp.moves import MOVES
from trainer.dsp.needs import LOUDEST_WITHIN_DB
from trainer.dsp.stereo.part_level import PartLevel
from trainer.errors import BadValue, EvenhandError, NotReachable
from trainer.exercise.drill import Drill
from trainer.exercise.excerpts import Candidate, choose_candidate, describe_excerpt
from trainer.exercise.forms import FORMS
from trainer.exercise.forms.demonstration import lay_out_demonstration
from trainer.exercise.forms.form import Layout, Take, Turn
from trainer.exercise.passes import prepare_pass
from trainer.exercise.references import Beside, set_beside
from trainer.exercise.song import Song
from trainer.exercise.songbook import SongBook
from trainer.exercise.trial import PreparedTrial, TrialSpec, Version
from trainer.measure.loudness import measure_loop_lufs
from trainer.measure.standards import CEILING_DBTP
from trainer.measure.true_peak import measure_loop_true_peak
from trainer.units import write_number

# The place in the song stays the same for so many trials, so that the ear can settle on it.
TRIALS_AT_ONE_PLACE = 5
OUTLINE_COLUMNS = 200
TRIES = 4
# An ending further below its song is not heard at the level of the song.
SOFTEST_ENDING_LU = 25.0


@dataclass(frozen=True)
class _Made:
    """One take on one loop, matched."""

    sound: MatchedLoop
    settings: dict[str, float]
    move: Move | None


@dataclass(frozen=True)
class _Laid:
    """A trial's takes at one place, measured, with its final layout."""

    candidate: Candidate
    layout: Layout
    reference: MatchedLoop
    made: tuple[_Made, ...]
    effects: tuple[Effect | None, ...]


@dataclass(frozen=True)
class _Own:
    """Give moves what they need to know of one song: its parts, or the song as a whole."""

    moves: Mapping[str, Move]
    song: Song
    book: SongBook

    def give(self, drill: Drill, candidate: Candidate, loop: Clip) -> dict[str, Move]:
        """Give a drill's moves, fitted to a loop of the song."""
        names = dict.fromkeys([drill.move, *(name for name, _ in drill.moves)])
        return {name: self._fit(self.moves[name], candidate, loop) for name in names}

    def find_level(self, drill: Drill, loop: Clip) -> float:
        """Find the loudness to play at: an ending lies below the level of its song, as far as it does in the song.

        Raises
        ------
        NotReachable
            If an ending is too soft to be heard so.
        """
        if not self.moves[drill.move].at_ending:
            return PLAYED_LUFS
        under_lu = self.book.read_lufs(self.song) - measure_loop_lufs(loop.samples, loop.rate_hz)
        if not under_lu <= SOFTEST_ENDING_LU:
            held, most = write_number(under_lu, 0), write_number(SOFTEST_ENDING_LU, 0)
            raise NotReachable(f"{drill.move}: ending_under_song_lu={held}, expected {most} or less")
        return PLAYED_LUFS - max(0.0, under_lu)

    def _fit(self, move: Move, candidate: Candidate, loop: Clip) -> Move:
        if isinstance(move, PartLevel):
            return move.with_part(
                cut_loop(self.song.parts[move.part_name], candidate.start_frame, candidate.frames), loop
            )
        if isinstance(move, SongPush):
            return move.with_song(partial(self.book.drive_song, self.song, move))
        return move


def prepare_trial(
    songs: Sequence[Song],
    spec: TrialSpec,
    book: SongBook | None = None,
    moves: Mapping[str, Move] = MOVES,
) -> PreparedTrial:
    """Make a trial. The same songs and specification give the same trial, sample for sample.

    Parameters
    ----------
    songs : sequence of Song
        One or more; by lot one of those that hold what the move needs.
    spec : TrialSpec
        What is wanted.
    book : SongBook or None
        What is known of the songs; a caller may keep it for the next trial.
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
    book = book or SongBook()
    song_rng, _, order_rng = _generators(spec)
    layout = _lay_out(spec, order_rng)
    if FORMS[spec.drill.form].answer_kind == "marks" and not spec.demonstration:
        return prepare_pass(songs, spec, layout, order_rng)
    refusal: EvenhandError = BadValue("songs", "count", 0, "at least one song")
    for number in song_rng.permutation(len(songs)):
        song = songs[int(number)]
        try:
            candidates = _find_common(song, spec.drill, moves, book)
            # Each song begins the same lot anew, so that a trial comes out the same when only its own is at hand.
            laid = _make_somewhere(song, candidates, spec, layout, _Own(moves, song, book), _generators(spec)[1])
            return _assemble(song, spec, laid)
        except (BadValue, NotReachable) as error:
            refusal = error
    raise refusal


def _lay_out(spec: TrialSpec, rng: np.random.Generator) -> Layout:
    """Lay out a question, or a labelled example."""
    if spec.demonstration:
        return lay_out_demonstration(spec.drill, spec.amount)
    return FORMS[spec.drill.form].lay_out(spec.drill, spec.amount, rng, Turn(spec.seed, spec.index))


def _generators(spec: TrialSpec) -> tuple[np.random.Generator, np.random.Generator, np.random.Generator]:
    """Generators for the song and the place, the same for several trials, and for the order of the versions.

    They are apart, so that a trial comes out the same again when only its own song is at hand.
    """
    name = zlib.crc32(spec.drill.drill.encode())
    stay = 0 if FORMS[spec.drill.form].stays else spec.index // TRIALS_AT_ONE_PLACE
    return (
        np.random.default_rng([spec.seed, name, 0, stay]),
        np.random.default_rng([spec.seed, name, 1, stay]),
        np.random.default_rng([spec.seed, name, 2, spec.index]),
    )


def _find_common(song: Song, drill: Drill, moves: Mapping[str, Move], book: SongBook) -> tuple[Candidate, ...]:
    """List the loops that every move of a drill can be asked on."""
    if FORMS[drill.form].needs_reference and song.reference is None:
        raise BadValue(song.entry.title, "reference", "none", "a reference song of the same style")
    for name, _ in drill.moves:
        move = moves[name]
        if isinstance(move, PartLevel) and move.part_name not in song.parts:
            raise BadValue(song.entry.title, "stem", "none", f"a stem of its {move.part_name}")
    found = [book.list_loops(song, moves[name], settings) for name, settings in drill.moves]
    places = set.intersection(*({c.start_frame for c in each} for each in found))
    common = tuple(candidate for candidate in found[0] if candidate.start_frame in places)
    if FORMS[drill.form].needs_reference:
        # A reference is a chorus: like is compared with like.
        common = tuple(each for each in common if each.contents.under_loudest_db >= -LOUDEST_WITHIN_DB)
    if not common:
        raise BadValue(song.entry.title, "common_places", 0, f"a place that suits all moves of {drill.drill}")
    return common


def _make_somewhere(
    song: Song,
    candidates: tuple[Candidate, ...],
    spec: TrialSpec,
    layout: Layout,
    own: _Own,
    rng: np.random.Generator,
) -> _Laid:
    """Make the takes at a place by lot, or at another one where that place does not allow the question."""
    refusal: NotReachable | None = None
    for _ in range(TRIES):
        candidate = choose_candidate(candidates, rng)
        loop = cut_loop(song.clip, candidate.start_frame, candidate.frames)
        try:
            fitted, level = own.give(spec.drill, candidate, loop), own.find_level(spec.drill, loop)
            beside = _set_beside(song, spec.drill, loop, fitted, rng)
            return _settle(candidate, layout, spec, beside, *_make(loop, spec, layout, fitted, level, beside))
        except NotReachable as error:
            refusal = error
    assert refusal is not None
    raise refusal


def _set_beside(
    song: Song, drill: Drill, loop: Clip, moves: Mapping[str, Move], rng: np.random.Generator
) -> Beside | None:
    """Set a loop beside the song's reference, where the form asks for one."""
    if not FORMS[drill.form].needs_reference:
        return None
    return set_beside(song, loop, moves[drill.move], drill.settings, rng)


def _make(
    loop: Clip,
    spec: TrialSpec,
    layout: Layout,
    moves: Mapping[str, Move],
    played_lufs: float,
    beside: Beside | None,
) -> tuple[MatchedLoop, tuple[_Made, ...]]:
    """Make every take on a loop and bring all to one loudness; equal takes are one and the same sound."""
    main = moves[layout.takes[layout.target].move or spec.drill.move]
    loop = beside.mix if beside else loop
    for name, _ in spec.drill.moves:
        loop = moves[name].prepare(loop)
    wanted = [take for n, take in enumerate(layout.takes) if take.processed and take not in layout.takes[:n]]
    own = [moves[take.move or ""] for take in wanted]
    solved = [move.solve(loop, take.amount, take.settings) for move, take in zip(own, wanted, strict=True)]
    reference = main.refer(loop, solved[wanted.index(layout.takes[layout.target])])
    others = (beside.reference,) if beside else ()
    sounds = (reference, *(move.render(loop, settings) for move, settings in zip(own, solved, strict=True)), *others)
    matched = match_loops(sounds, played_lufs) if main.matched else level_loops(sounds, played_lufs)
    as_it_is = {False: _Made(matched[0], {}, None), True: _Made(matched[-1], {}, None)}
    made = [_Made(*parts) for parts in zip(matched[1 : 1 + len(own)], solved, own, strict=True)]
    return matched[0], tuple(
        made[wanted.index(take)] if take.processed else as_it_is[take.reference] for take in layout.takes
    )


def _settle(
    candidate: Candidate,
    layout: Layout,
    spec: TrialSpec,
    beside: Beside | None,
    reference: MatchedLoop,
    made: tuple[_Made, ...],
) -> _Laid:
    """Measure the effects, and let the form put right what depends on them."""
    effects: list[Effect | None] = []
    for place, item in enumerate(made):
        first = next(p for p, other in enumerate(made) if other.sound is item.sound)
        effects.append(effects[first] if first < place else _measure(reference, item, beside))
    if not spec.demonstration:
        layout = FORMS[spec.drill.form].settle(layout, effects)
    return _Laid(candidate, layout, reference, made, tuple(effects))


def _assemble(song: Song, spec: TrialSpec, laid: _Laid) -> PreparedTrial:
    """Describe the versions, and make what changed."""
    layout, reference, made, effects = laid.layout, laid.reference, laid.made, laid.effects
    target = made[layout.target]
    assert target.move is not None
    change = _keep_below_ceiling(make_difference(reference.loop, target.sound.loop, target.move.linear))
    return PreparedTrial(
        spec=spec,
        song=song.entry,
        sha256=song.sha256,
        excerpt=describe_excerpt(song, laid.candidate, _name_reference(song, layout)),
        rate_hz=reference.loop.rate_hz,
        sounds=np.stack([*(item.sound.loop.samples for item in made), change.loop.samples]),
        versions=tuple(
            _describe(number, layout.takes[number - 1], item, effects[number - 1])
            for number, item in enumerate(made, 1)
        ),
        layout=layout,
        effect_name=target.move.effect_name,
        change_db=change.level_db,
        outline=outline_loop(reference.loop.samples, OUTLINE_COLUMNS),
        loudness_matched=target.move.matched,
    )


def _name_reference(song: Song, layout: Layout) -> str:
    """Name the song that is heard beside, where one is."""
    heard = any(take.reference for take in layout.takes)
    return song.entry.reference.title if heard and song.entry.reference else ""


def _measure(reference: MatchedLoop, item: _Made, beside: Beside | None) -> Effect | None:
    """Read a move's effect from what will be played, and how far that is from a reference where there is one."""
    if item.move is None:
        return None
    gain_db = item.sound.gain_db - reference.gain_db
    effect = item.move.measure(reference.loop, item.sound.loop, item.settings, gain_db)
    return beside.compare(effect, reference.loop, item.sound.loop) if beside else effect


def _keep_below_ceiling(change: Difference) -> Difference:
    """Turn a difference down where its own peaks would pass the ceiling of all that is played."""
    peak = measure_loop_true_peak(change.loop.samples, change.loop.rate_hz).dbtp
    excess = peak - (CEILING_DBTP - PEAK_MARGIN_DB)
    return change if excess <= 0 else Difference(turn_loop(change.loop, -excess), change.level_db - excess)


def _describe(number: int, take: Take, item: _Made, effect: Effect | None) -> Version:
    sound = item.sound
    asked = {**item.settings, item.move.effect_name: take.amount} if item.move else {}
    unit = item.move.unit if item.move else ""
    return Version(number, take, asked, effect, sound.gain_db, sound.loudness_lufs, sound.true_peak_dbtp, unit)
