"""A sensible master of a song by our own moves: what it might sound like when it is finished, for comparison."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.audio.clip import Clip
from trainer.audio.loops import cut_loop
from trainer.dsp.dynamics.push import Push
from trainer.dsp.matching import turn_loop
from trainer.dsp.moves import MOVES
from trainer.dsp.song_chain import Step, render_song
from trainer.errors import BadValue
from trainer.exercise.excerpts import list_candidates
from trainer.exercise.song import Song
from trainer.measure.contents import measure_contents
from trainer.measure.loudness import measure_integrated_lufs
from trainer.measure.standards import CEILING_DBTP
from trainer.measure.true_peak import measure_true_peak
from trainer.units import write_number

# Common practice, no source: rumble away, the parts held together by a decibel or so, and a level between the quiet
# and the loud ones of today, at which the snare still stands out.
RUMBLE_HZ = 20.0
HELD_TOGETHER_DB = 1.2
TOGETHER = {
    "ratio_to_1": 2.0,
    "attack_ms": 30.0,
    "release_ms": 150.0,
    "slow_release_ms": 1000.0,
    "side_chain_hz": 100.0,
}
LOUDNESS_LUFS = -12.0
PEAK_MARGIN_DB = 0.05


@dataclass(frozen=True)
class Master:
    """Hold a master, how it was made, and what it measures.

    Parameters
    ----------
    clip : Clip
        The sound.
    steps : tuple of Step
        The moves, in order; none where the song was only turned down.
    loudness_lufs, true_peak_dbtp : float
        Measured on the sound.
    words : tuple of str
        What was done, in sentences.
    """

    clip: Clip
    steps: tuple[Step, ...]
    loudness_lufs: float
    true_peak_dbtp: float
    words: tuple[str, ...]


def make_master(song: Song) -> Master:
    """Make a master of a whole song.

    A mix that is as loud already as the master would be is only turned down until its true peak keeps to −1 dBTP:
    more would take more out of it.

    Raises
    ------
    BadValue
        If the song is silent or too short.
    """
    loudness_lufs = measure_integrated_lufs(song.clip.samples, song.clip.rate_hz)
    if loudness_lufs >= LOUDNESS_LUFS - 1.0:
        return _turn_down(song.clip)
    steps = [Step("high_pass", {"cutoff_hz": RUMBLE_HZ}), *_hold_together(song)]
    push = Push()
    prepared = push.prepare(render_song(song.clip, steps))
    driven = push.solve_song(prepared, LOUDNESS_LUFS, {"ceiling_dbtp": CEILING_DBTP})
    steps.append(Step("push", {"drive_db": driven.drive_db, "ceiling_dbtp": CEILING_DBTP}))
    words = (
        f"High-pass at {write_number(RUMBLE_HZ, 0)} Hz.",
        *(["Compressed 2:1 by about a decibel in the loudest part."] if len(steps) == 3 else []),
        f"Pushed to {write_number(driven.loudness_lufs)} LUFS under {write_number(CEILING_DBTP)} dBTP.",
    )
    return _describe(driven.clip, tuple(steps), words)


def _hold_together(song: Song) -> list[Step]:
    """Solve a gentle compressor on the loudest loop; none where the song gives it nothing to act on."""
    move = MOVES["compressor_on_average"]
    contents = measure_contents(song.clip.samples, song.clip.rate_hz, move.bands_hz({}))
    try:
        candidates = list_candidates(song, contents, move, TOGETHER)
    except BadValue:
        return []
    loudest = max(candidates, key=lambda candidate: candidate.contents.loudness_db)
    loop = cut_loop(song.clip, loudest.start_frame, loudest.frames)
    return [Step(move.name, move.solve(loop, HELD_TOGETHER_DB, TOGETHER))]


def _turn_down(clip: Clip) -> Master:
    """Turn a loud mix down as far as its peaks need."""
    peak = measure_true_peak(clip.samples, clip.rate_hz).dbtp
    gain_db = min(0.0, CEILING_DBTP - PEAK_MARGIN_DB - peak)
    words = f"As loud as a master already: only turned down by {write_number(-gain_db)} dB."
    return _describe(turn_loop(clip, gain_db), (), (words,))


def _describe(clip: Clip, steps: tuple[Step, ...], words: tuple[str, ...]) -> Master:
    loudness = measure_integrated_lufs(clip.samples, clip.rate_hz)
    return Master(clip, steps, loudness, measure_true_peak(clip.samples, clip.rate_hz).dbtp, words)
