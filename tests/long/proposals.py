"""Every demo song through all that the guided steps propose, whole, with the other songs as its references.

Demanded of each song: its lowest note is one of a bass or a kick, 30 to 70 Hz; with its fades it begins and ends
cleanly, and no more than an inaudible rest is cut off; at most three moves of balance and four of sweetening, each
measured on the whole song, whose change of loudness is that of libebur128 within 0.05 LU; every loop within 0.05 LU
of the others on libebur128; every rung what is said within 0.05 LU, under its ceiling on libebur128, and dearer than
the one before. Printed: what is proposed, and how long it took.
"""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pyebur128

from trainer.audio.clip import Clip
from trainer.audio.file_form import FileForm
from trainer.decisions.balance import compare_balance
from trainer.decisions.balance_moves import propose_balance
from trainer.decisions.balance_reading import SongBalance, read_balance
from trainer.decisions.candidate_loops import choose_last_stretches, choose_stretches, cut_versions
from trainer.decisions.evidence import Evidence
from trainer.decisions.fade_proposals import check_fades, propose_fades
from trainer.decisions.high_pass_check import check_high_pass
from trainer.decisions.rungs import list_around, try_rungs
from trainer.decisions.sheet import Candidate
from trainer.decisions.song_results import list_steps, measure_candidate
from trainer.decisions.sweetening import propose_sweetening
from trainer.decisions.systems import play_on_systems
from trainer.dsp.song_chain import render_song
from trainer.exercise.song import Song
from trainer.files.library import list_demo_songs
from trainer.files.sound_reading import read_song
from trainer.measure.faults.scan import scan_faults

WANTED_LU, WANTED_REST_LUFS = 0.05, -70.0
LOWEST_NOTES_HZ = (30.0, 70.0)


def run() -> bool:
    """Print all; False if a demand was missed."""
    print("what the guided steps propose on the demo songs")
    songs = [read_song(entry) for entry in list_demo_songs()]
    evidence = [gather(song) for song in songs]
    balances = [
        read_balance(song.entry.title, song.clip, found.form, found.programme, song.sha256)
        for song, found in zip(songs, evidence, strict=True)
    ]
    kept = [try_song(*items, balances) for items in zip(songs, evidence, balances, strict=True)]
    return all(kept)


def gather(song: Song) -> Evidence:
    """Measure and scan a song."""
    clip = song.clip
    form = FileForm(Path(song.entry.path).name, "FLAC", "PCM_24", clip.rate_hz, 2, clip.frames, 24)
    return Evidence(form, *scan_faults(clip.samples, clip.rate_hz, form.step))


def try_song(song: Song, evidence: Evidence, balance: SongBalance, balances: list[SongBalance]) -> bool:
    """Take one song through everything."""
    began, clip = time.perf_counter(), song.clip
    print(f"  {song.entry.title}")
    comparison = compare_balance(balance, [other for other in balances if other is not balance])
    proposals = propose_balance(comparison)
    moves = tuple(measure_candidate(clip, each) for each in proposals.candidates)
    stretches = choose_stretches(clip, evidence)
    sweet = propose_sweetening(clip, evidence, stretches["loudest"], moves, comparison)
    held = {
        "references": len(comparison.references) == len(balances) - 1,
        "moves": len(moves) <= 3 and len(sweet.candidates) <= 4,
        "results": all(_is_true(clip, each, moves) for each in (*moves, *sweet.candidates)),
        "fades": _try_fades(clip, evidence),
        "high-pass": _try_high_pass(clip),
        "loops": _try_loops(clip, evidence, (*moves, *sweet.candidates)),
        "rungs": _try_rungs(clip, moves),
    }
    for each in (*moves, *sweet.candidates):
        print(f"    {each.candidate}: {each.reason}")
    for sentence in (*proposals.back_to_mix, *(f"no {left.move}: {left.reason}" for left in sweet.left_out)):
        print(f"    {sentence}")
    missed = [name for name, kept in held.items() if not kept]
    print(
        f"    {'missed: ' + ', '.join(missed) if missed else 'all held'}; {time.perf_counter() - began:.0f} s",
        flush=True,
    )
    return not missed


def _is_true(clip: Clip, candidate: Candidate, moves: tuple[Candidate, ...]) -> bool:
    """Render a candidate behind the moves before it, and read the change of loudness on another meter."""
    before_it = moves if candidate.step == "sweetening" else ()
    before = render_song(clip, list_steps(before_it))
    after = render_song(before, list_steps((candidate,)))
    return abs(read(after)[0] - read(before)[0] - candidate.results["loudness_change_lu"]) <= WANTED_LU


def _try_fades(clip: Clip, evidence: Evidence) -> bool:
    """Fade, and look at both ends."""
    checked = check_fades(clip, propose_fades(clip, evidence).fades)
    return checked.clean and checked.cut_lufs < WANTED_REST_LUFS


def _try_high_pass(clip: Clip) -> bool:
    """Find the lowest note."""
    found = check_high_pass(clip)
    print(f"    high-pass: {found.outcome}, {' '.join(found.reasons)}")
    return found.lowest_note_hz is not None and LOWEST_NOTES_HZ[0] <= found.lowest_note_hz <= LOWEST_NOTES_HZ[1]


def _try_loops(clip: Clip, evidence: Evidence, candidates: tuple[Candidate, ...]) -> bool:
    """Hear everything together against the untouched mix, and on small systems."""
    chains = ((), list_steps(candidates))
    spreads = []
    for one in cut_versions(clip, chains, choose_last_stretches(clip, evidence)):
        readings = [read(_go_round(version.loop))[0] for version in one.versions]
        spreads.append(max(readings) - min(readings))
    loud = cut_versions(clip, ((), ()), {"loudest": choose_stretches(clip, evidence)["loudest"]})[0]
    readings = [read(_go_round(version.loop))[0] for version in play_on_systems(loud.versions[0].loop)]
    spreads.append(max(readings) - min(readings))
    print(f"    loops: {max(spreads):.3f} LU apart at most")
    return max(spreads) <= WANTED_LU


def _try_rungs(clip: Clip, moves: tuple[Candidate, ...]) -> bool:
    """Push to four loudnesses from the song's own upwards, and read each rendering on another meter."""
    tried = try_rungs(clip, moves, list_around(max(-12.0, read(clip)[0] + 2.0)), -1.0)
    held = True
    for number, rung in enumerate(tried.loudness.rungs):
        loudness, peak = read(render_song(clip, (*list_steps(moves), *tried.list_steps(number))))
        held &= abs(loudness - rung.reached_lufs) <= WANTED_LU and peak <= -1.0
        costs = ", ".join(f"{name} {rung.costs[name]:.2f}" for name in ("reduction_on_hits_db", "hits_crest_lost_db"))
        print(f"    rung: {rung.asked_lufs:.1f} asked, {loudness:.2f} LUFS, {peak:.2f} dBTP, {costs}")
    spent = [rung.costs["hits_crest_lost_db"] for rung in tried.loudness.rungs]
    for line in tried.refused:
        print(f"    no rung at {line}")
    return held and spent == sorted(spent) and len(spent) > 0


def _go_round(loop: Clip) -> Clip:
    return loop.with_samples(np.tile(loop.samples, (10, 1)))


def read(clip: Clip) -> tuple[float, float]:
    """Read integrated loudness and true peak with libebur128."""
    mode = pyebur128.MeasurementMode.MODE_I | pyebur128.MeasurementMode.MODE_TRUE_PEAK
    meter = pyebur128.R128State(2, clip.rate_hz, mode)
    meter.add_frames(np.ascontiguousarray(clip.samples).reshape(-1), clip.frames)
    peak = max(pyebur128.get_true_peak(meter, channel) for channel in (0, 1))
    return float(pyebur128.get_loudness_global(meter)), 20 * float(np.log10(peak))


if __name__ == "__main__":
    run()
