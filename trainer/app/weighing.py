"""Files put on the beam, for `evenhand weigh`: read, brought into step, matched, compared, and written."""

from __future__ import annotations

import math
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt
import scipy

from trainer.audio.clip import Clip
from trainer.audio.file_form import FileForm
from trainer.audio.loops import SHORTEST_LOOP_S
from trainer.audio.resampling import choose_working_rate, resample_clip
from trainer.decisions.bounce_meter import BounceMeter
from trainer.decisions.bounces import FEWEST, MOST, Bounce, align_bounces
from trainer.decisions.rounds import Round
from trainer.decisions.weighing import StretchWish, Weighing, list_weighing, weigh_bounces
from trainer.decisions.weighing_playback import list_playback_levels
from trainer.errors import BadValue, EvenhandError
from trainer.files.folders import choose_data_folder, open_folder
from trainer.files.notebook import RoundFile
from trainer.files.sound_blocks import open_sound
from trainer.files.sound_reading import LONGEST_S, SILENCE_PEAK, hash_file
from trainer.files.sound_writing import refuse_overwriting, write_float_wav
from trainer.files.target_reading import list_targets
from trainer.files.weigh_page import WeighReport, write_weigh_page
from trainer.measure.alignment import Recording
from trainer.measure.steps import block_frames

Found = TypeVar("Found")
Tell = Callable[[float, str], None]
# Both channels of a sound are transformed beside each other.
PROCESSORS = 2
# Shares of the whole work, as measured on files of four minutes.
READ, ALIGNED = 0.7, 0.8


@dataclass(frozen=True)
class WeighWish:
    """What `evenhand weigh` was asked for; a page needs the data folder, for rounds and targets of one's own."""

    files: list[str]
    stretch: StretchWish
    out: str | None = None
    force: bool = False
    page: str | None = None
    data: str | None = None


@dataclass(frozen=True)
class Weighed:
    """Hold what came of it: the weighing, if two files or more could be put on the beam, and a line for each other."""

    weighing: Weighing | None
    errors: tuple[EvenhandError, ...]

    @property
    def facts(self) -> dict[str, Any] | None:
        """What was found, as plain facts."""
        return None if self.weighing is None else list_weighing(self.weighing)


def weigh_files(wish: WeighWish, tell: Tell = lambda fraction, words: None) -> Weighed:
    """Read files, bring them into step, match a stretch of them, and write it if wished.

    Parameters
    ----------
    wish : WeighWish
        Which files, which stretch.
    tell : callable
        Is told how far it is, 0–1, and what is being done.

    Raises
    ------
    BadValue
        If there are too few or too many files, or a file would be overwritten.
    """
    if wish.out is not None:
        refuse_overwriting(list(_name_copies(wish.out, wish.files).values()), wish.force)
    if wish.page is not None:
        refuse_overwriting([Path(wish.page).expanduser()], wish.force)
    fitting, errors = align_files(wish.files, tell)
    if len(fitting) < FEWEST:
        return Weighed(None, errors)
    tell(ALIGNED, "Matching and comparing")
    with scipy.fft.set_workers(PROCESSORS):
        weighing, refused = weigh_bounces(fitting, wish.stretch)
    if weighing is not None and wish.out is not None:
        write_copies(weighing, wish)
    if weighing is not None and wish.page is not None:
        write_page(weighing, Path(wish.page).expanduser(), choose_data_folder(wish.data), errors + refused)
    return Weighed(weighing, errors + refused)


def align_files(files: list[str], tell: Tell) -> tuple[tuple[Bounce, ...], tuple[EvenhandError, ...]]:
    """Read files and bring those of one song into step; a line for each other.

    Raises
    ------
    BadValue
        If there are too few or too many files.
    """
    if not FEWEST <= len(files) <= MOST:
        raise BadValue("weigh", "files", len(files), f"{FEWEST} to {MOST} bounces of one song")
    bounces, errors = _read_all(files, tell)
    if len(bounces) < FEWEST:
        return (), errors
    tell(READ, "Bringing them into step")
    with scipy.fft.set_workers(PROCESSORS):
        fitting, strangers = align_bounces(bounces)
    return fitting, errors + strangers


def read_bounce(path: str, rate_hz: int, heard: Callable[[int], None] = lambda frames: None) -> Bounce:
    """Read one file, measure it and look for faults, in one pass.

    Parameters
    ----------
    path : str
        The file.
    rate_hz : int
        Rate that it is compared at.
    heard : callable
        Is told the frames of each block that has been read.

    Raises
    ------
    BadValue
        If it cannot be read, is shorter than 4 s, or silent.
    """
    with open_sound(path) as sound:
        form = sound.form
        samples = np.zeros((form.frames, form.channels), dtype=np.float32)
        meter = BounceMeter(form)
        for block in sound.read(block_frames(form.sample_rate_hz)):
            samples[sound.frames_read - block.shape[1] : sound.frames_read] = block.T
            meter.add(block)
            heard(block.shape[1])
        samples = samples[: sound.frames_read]
    evidence = meter.finish()
    check_sound(form, samples)
    if not math.isfinite(evidence.programme.loudness.integrated_lufs):
        raise BadValue(Path(path).name, "integrated_lufs", "−∞", "sound above the gate at −70 LUFS")
    stereo = np.repeat(samples, 2, axis=1) if form.channels == 1 else samples
    clip = resample_clip(Clip(stereo, form.sample_rate_hz), rate_hz)
    recording = Recording(clip.samples, clip.rate_hz)
    # Made here, where files are worked on beside each other.
    recording.sketch("middle")
    return Bounce(Path(path).name, recording, evidence)


def _read_all(paths: list[str], tell: Tell) -> tuple[tuple[Bounce, ...], tuple[EvenhandError, ...]]:
    """Read files two at a time, by their heads first; a line for each that cannot be compared."""
    heads = read_heads(paths)
    forms = [head for head in heads if isinstance(head, FileForm)]
    if len(forms) < FEWEST:
        return (), tuple(head for head in heads if isinstance(head, EvenhandError))
    rate_hz = max(choose_working_rate(form.sample_rate_hz) for form in forms)
    whole, done = sum(form.frames for form in forms), 0

    def count(frames: int) -> None:
        nonlocal done
        done += frames
        tell(READ * done / max(whole, 1), f"Reading and measuring {len(forms)} files")

    def read(path: str, head: FileForm | EvenhandError) -> Bounce | EvenhandError:
        return head if isinstance(head, EvenhandError) else try_reading(partial(read_bounce, path, rate_hz, count))

    with ThreadPoolExecutor(2) as both:
        found = list(both.map(read, paths, heads))
    bounces = [one for one in found if isinstance(one, Bounce)]
    return _tell_apart(bounces), tuple(one for one in found if isinstance(one, EvenhandError))


def read_heads(paths: list[str]) -> list[FileForm | EvenhandError]:
    """Read what heads say: a line for a file that comes twice, is too long or short, or is mono among stereo."""
    heads = [try_reading(partial(_read_head, path)) for path in paths]
    stereo = next((head for head in heads if isinstance(head, FileForm) and head.channels == 2), None)
    seen: set[Path] = set()
    for index, (path, head) in enumerate(zip(paths, heads, strict=True)):
        place = Path(path).expanduser().resolve()
        if isinstance(head, FileForm) and place in seen:
            heads[index] = BadValue("weigh", "file", path, "each file once")
        elif isinstance(head, FileForm) and head.channels == 1 and stereo is not None:
            other = Path(stereo.file).name
            heads[index] = BadValue(Path(path).name, "channels", 1, f"2, as {other} has; bounce it in stereo")
        seen.add(place)
    return heads


def _read_head(path: str) -> FileForm:
    with open_sound(path) as sound:
        _check_length(sound.form)
        return sound.form


def try_reading(read: Callable[[], Found]) -> Found | EvenhandError:
    """Read, or give the line that says why not."""
    try:
        return read()
    except EvenhandError as error:
        return error


def _tell_apart(bounces: list[Bounce]) -> tuple[Bounce, ...]:
    """Name files of one name by their whole paths."""
    names = [bounce.name for bounce in bounces]
    return tuple(
        replace(bounce, name=bounce.evidence.form.file) if names.count(bounce.name) > 1 else bounce
        for bounce in bounces
    )


def _check_length(form: FileForm) -> None:
    """Refuse by what the head says, before anything is read."""
    where, length_s = Path(form.file).name, form.duration_s
    if length_s > LONGEST_S:
        raise BadValue(where, "duration_s", f"{length_s:.0f}", f"at most {LONGEST_S:.0f} s")
    if length_s < SHORTEST_LOOP_S:
        raise BadValue(where, "duration_s", f"{length_s:.2f}", f"at least {SHORTEST_LOOP_S:g} s of sound")


def check_sound(form: FileForm, samples: npt.NDArray[np.float32]) -> None:
    """Refuse what ends too early or is silent."""
    where, length_s = Path(form.file).name, samples.shape[0] / form.sample_rate_hz
    if length_s < SHORTEST_LOOP_S:
        raise BadValue(where, "duration_s", f"{length_s:.2f}", f"at least {SHORTEST_LOOP_S:g} s of sound")
    if max(float(samples.max()), -float(samples.min())) < SILENCE_PEAK:
        raise BadValue(where, "peak_dbfs", "silence", "sound above −70 dBFS")


def _name_copies(out: str, files: list[str]) -> dict[str, Path]:
    """Name the matched copy of each file by its number and its name."""
    names = {file: f"{number}_{Path(file).stem}.wav" for number, file in reversed(list(enumerate(files, 1)))}
    return {file: Path(out).expanduser() / name for file, name in names.items()}


def write_page(
    weighing: Weighing,
    place: Path,
    data_folder: Path,
    errors: tuple[EvenhandError, ...],
    rounds: tuple[Round, ...] | None = None,
) -> None:
    """Write a weighing as one page, with the rounds given, or those that the data folder keeps of these files."""
    if rounds is None:
        rounds = RoundFile(data_folder).list_rounds([hash_bounce(bounce) for bounce in weighing.bounces])
    levels = list_playback_levels(list_targets(data_folder).values())
    left_out = tuple(str(error) for error in errors)
    write_weigh_page(place, WeighReport(list_weighing(weighing), rounds, levels, left_out))


def hash_bounce(bounce: Bounce) -> str:
    """Hash the file of a bounce.

    Raises
    ------
    BadValue
        If it is no longer there.
    """
    try:
        return hash_file(Path(bounce.evidence.form.file).expanduser())
    except OSError as error:
        reason = (error.strerror or type(error).__name__).lower()
        raise BadValue(bounce.name, "file", bounce.evidence.form.file, f"a file that can be read ({reason})") from None


def write_copies(weighing: Weighing, wish: WeighWish) -> None:
    """Write what would be played, a file for each bounce, numbered as the files were named."""
    assert wish.out is not None
    open_folder(Path(wish.out).expanduser(), "out")
    places = _name_copies(wish.out, wish.files)
    for bounce, matched in zip(weighing.bounces, weighing.matched, strict=True):
        write_float_wav(places[bounce.evidence.form.file], matched.loop.samples, matched.loop.rate_hz)
