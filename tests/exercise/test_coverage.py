"""The bundled songs hold at least two places for every move, and there it is measured as it was asked.

Amounts: 2 dB, or what is about as plain (common practice, no source). A place may refuse an amount; two have to do.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from trainer.audio.loops import cut_loop
from trainer.dsp.matching import level_loops, match_loops
from trainer.dsp.move import Move
from trainer.dsp.moves import MOVES
from trainer.errors import BadValue, NotReachable
from trainer.exercise.song import Song
from trainer.exercise.songbook import SongBook
from trainer.workshop.bench import Bench

PLAIN = {
    "high_pass": 40.0, "saturation": 3.0, "top_harmonics": 3.0, "attack": 1.0, "side_chain_filter": 0.6,
    "pumping": 4.0, "release": 4.0, "push": 5.0, "mono": 12.0, "mono_below": 120.0, "polarity": 180.0,
    "swap_sides": 100.0, "click": 20.0, "pop": 12.0, "hiss": 3.0, "hum": 3.0, "dropout": 20.0, "clipped_run": 20.0,
    "sibilance": 6.0, "bad_edit": 40.0, "abrupt_end": 600.0, "short_fade": 600.0, "intersample_over": 1.5,
    "word_length": 3.0,
}  # fmt: skip
# Coding wants a coder, a part its stem, and one push the whole song: they have tests of their own.
ELSEWHERE = ("mp3", "vorbis", "opus", "voice_level", "bass_level", "song_push")
TRIED = 4


@pytest.mark.parametrize("name", sorted(set(MOVES) - set(ELSEWHERE)))
def test_two_places_show_the_move_as_asked(name: str, bench: Bench, book: SongBook) -> None:
    """Found by the chooser, solved, matched, and read from the matched sound within 3 %."""
    move, amount = MOVES[name], PLAIN.get(name, 2.0)
    shown = 0
    for found in _try_places(bench.songs(), book, move, amount):
        assert found == pytest.approx(amount, rel=0.03)
        shown += 1
        if shown == 2:
            return
    pytest.fail(f"{name}: {shown} places")


def _try_places(songs: tuple[Song, ...], book: SongBook, move: Move, amount: float) -> Iterator[float]:
    """Measure the move at a few places of each song that has any."""
    for song in songs:
        try:
            candidates = book.list_loops(song, move, {})
        except BadValue:
            continue
        for place in candidates[:TRIED]:
            loop = move.prepare(cut_loop(song.clip, place.start_frame, place.frames))
            try:
                settings = move.solve(loop, amount, {})
            except NotReachable:
                continue
            versions = (move.refer(loop, settings), move.render(loop, settings))
            first, second = match_loops(versions) if move.matched else level_loops(versions)
            yield move.measure(first.loop, second.loop, settings, second.gain_db - first.gain_db).amount
