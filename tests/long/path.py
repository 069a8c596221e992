"""The whole way from the aim to a checked bounce on every demo song, in both faces: ``python -m tests.long path``.

A simulated person leads each song through the terminal (`evenhand decide --text`, line by line) and through the real
window (SDL's dummy driver, keys and mouse posted to its loop), with ears that hear which version plays. Demanded: the
sheet can be read; the file made is as loud as what was chosen, to 0.1 LU by libebur128; its true peak lies under the
ceiling by libebur128 and by the program's meter; the file the sheet names is that file; and `evenhand bounce` makes
the same file, bit for bit, of the sheet. Some songs only: ``python -m tests.long.path slack_water``.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import time
import traceback
from collections.abc import Callable
from contextlib import redirect_stdout
from dataclasses import dataclass
from io import StringIO
from pathlib import Path

import numpy as np
import soundfile

from tests.long.path_person import HeardPlayer, Person, WayLost
from tests.long.path_text import lead_text
from tests.measure.meters import ebur128_dbtp, ebur128_lufs
from trainer.cli import main
from trainer.decisions.bounce import find_ceiling
from trainer.decisions.candidate_words import title_candidate
from trainer.decisions.sheet import STEPS, Sheet
from trainer.exercise.song import SongEntry
from trainer.files.library import list_demo_songs
from trainer.files.sheet_file import open_sheet
from trainer.files.sound_reading import hash_file
from trainer.measure.true_peak import measure_true_peak

SEED = 37
LOUDNESS_LU = 0.1
DEPTHS = (16, 24)
Lead = Callable[[Person, Path, Path], Path]


@dataclass(frozen=True)
class Way:
    """Hold what one way came to: the sheet, the file, how long it took, how much was answered, what was odd."""

    sheet_path: Path
    master: Path
    seconds: float
    answers: int
    odd: tuple[str, ...]


def go(song: SongEntry, reference: str, face: str, folder: Path, seed: int) -> Way:
    """Lead a copy of a song through one face."""
    mix = folder / f"{song.title} mix 4.flac"
    shutil.copyfile(song.path, mix)
    player = HeardPlayer(48000)
    depth = DEPTHS[seed % len(DEPTHS)]
    person = Person(player, reference, folder / "master.wav", depth, np.random.default_rng([SEED, seed]))
    begun_s = time.monotonic()
    sheet = _find_lead(face)(person, mix, folder / "data")
    return Way(sheet, person.out, time.monotonic() - begun_s, person.answers, tuple(person.odd))


def _find_lead(face: str) -> Lead:
    """Find what leads through a face; the window brings pygame along."""
    if face == "terminal":
        return lead_text
    from tests.long.path_window import lead_window

    return lead_window


def check(way: Way, folder: Path) -> tuple[list[str], list[str]]:
    """Check what a way made; gives lines to print, and what is wrong."""
    sheet = open_sheet(way.sheet_path)
    samples, rate_hz = soundfile.read(way.master, dtype="float32", always_2d=True)
    read_lufs, outside_dbtp = ebur128_lufs(samples, rate_hz), ebur128_dbtp(samples, rate_hz)
    own_dbtp = measure_true_peak(samples, rate_hz).dbtp
    form = soundfile.info(way.master)
    rung, ceiling_dbtp = sheet.loudness.rung, find_ceiling(sheet.loudness)
    again = folder / "again.wav"
    with redirect_stdout(StringIO()) as said:
        status = main(["bounce", str(way.sheet_path), "--out", str(again), "--data", str(folder / "data")])
    made = sheet.delivery.bounced
    failed = any(each.verdict == "fail" for each in made)
    named = [each.sha256 for each in made if each.path == str(way.master)]
    wrong = [
        (rung is None and bool(sheet.loudness.rungs), "no loudness is chosen"),
        (rung is not None and abs(read_lufs - rung.reached_lufs) > LOUDNESS_LU, "the loudness is not what was set"),
        (max(outside_dbtp, own_dbtp) > ceiling_dbtp, "the peak is over the ceiling"),
        (named != [hash_file(way.master)], "the sheet does not name the file"),
        (failed and not _fails_before(sheet, folder), "the check of the file fails, and that of the mix does not"),
        (set(sheet.finished) != set(STEPS), f"finished is only {', '.join(sheet.finished)}"),
        (status != int(failed), f"bounce gives status {status}: {said.getvalue().strip()[-200:]}"),
        (not again.is_file() or hash_file(again) != hash_file(way.master), "bounce makes another file of the sheet"),
    ]
    wished = "none" if rung is None else f"{rung.asked_lufs:.1f} asked, {rung.reached_lufs:.2f} reached"
    lines = [
        *(["the check of the file fails, as that of the mix does"] if failed else []),
        f"loudness {wished}, {read_lufs:.2f} LUFS on the file by libebur128",
        f"true peak {own_dbtp:.2f} and {outside_dbtp:.2f} dBTP under {ceiling_dbtp:.1f}; {form.subtype}, {rate_hz} Hz",
        f"{way.answers} answers; kept: {_list_kept(sheet)}",
    ]
    return lines, [words for is_so, words in wrong if is_so]


def _fails_before(sheet: Sheet, folder: Path) -> bool:
    """Tell whether the mix itself fails the check: what is broken there no master mends."""
    target = sheet.aim.targets[0]
    with redirect_stdout(StringIO()):
        return main(["check", sheet.mix.path, "--target", target, "--no-coding", "--data", str(folder / "data")]) == 1


def _list_kept(sheet: Sheet) -> str:
    """List the moves that were kept, and of how many that were weighed."""
    kept = ", ".join(title_candidate(each) for each in sheet.list_kept()) or "nothing"
    return f"{kept} ({len(sheet.list_kept())} of {len(sheet.candidates)} weighed)"


def run_song(song: SongEntry, reference: str, face: str, seed: int) -> bool:
    """Go one way on one song and print what it came to; False if something is wrong."""
    print(f"  {song.title}, {face}", flush=True)
    with tempfile.TemporaryDirectory() as name:
        try:
            way = go(song, reference, face, Path(name), seed)
            lines, wrong = check(way, Path(name))
        except WayLost as lost:
            print(f"    the way was lost: {lost}")
            return False
        except Exception:
            traceback.print_exc()
            return False
    print(f"    {way.seconds:.0f} s")
    for line in (*lines, *(f"odd: {each}" for each in way.odd), *(f"WRONG: {each}" for each in wrong)):
        print(f"    {line}", flush=True)
    return not wrong


def run(names: tuple[str, ...] = (), faces: tuple[str, ...] = ("terminal", "window")) -> bool:
    """Go all ways; False if one is lost or ends wrong."""
    songs = list_demo_songs()
    print("the whole way on every demo song, in the terminal and in the window")
    kept = []
    for number, song in enumerate(songs):
        other = song.reference.path if song.reference else songs[number - 1].path
        if not names or any(name in song.path for name in names):
            kept += [run_song(song, other, face, number) for face in faces]
    return all(kept)


if __name__ == "__main__":
    wished_faces = tuple(each for each in sys.argv[1:] if each in ("terminal", "window"))
    wished_songs = tuple(each for each in sys.argv[1:] if each not in wished_faces)
    run(wished_songs, wished_faces or ("terminal", "window"))
