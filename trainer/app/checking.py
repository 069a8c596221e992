"""Files checked, for `evenhand check`: measured, scanned, coded, judged, and put on a page."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from trainer.app.world import Conditions
from trainer.audio.clip import Clip
from trainer.decisions.delivery import judge_delivery, list_check
from trainer.decisions.evidence import CodeAndDecode, CodedPeak, Evidence
from trainer.decisions.intake import examine_mix, list_intake
from trainer.decisions.target import Target
from trainer.errors import BadValue, EvenhandError
from trainer.files.folders import choose_data_folder
from trainer.files.sound_blocks import open_sound
from trainer.files.sound_writing import refuse_overwriting
from trainer.files.target_reading import find_target, list_targets
from trainer.measure.faults.scan import FaultScanner
from trainer.measure.loudness_trace import LoudnessTrace
from trainer.measure.peak_trace import to_db
from trainer.measure.programme import ProgrammeMeter
from trainer.measure.steps import STEP_S, block_frames
from trainer.measure.true_peak import measure_true_peak

CODINGS = (("mp3", 128), ("mp3", 320), ("vorbis", 160), ("opus", 128))
CODED_S = 10.0


@dataclass(frozen=True)
class CheckWish:
    """What `evenhand check` was asked for."""

    files: list[str]
    target: str | None = None
    page: str | None = None
    force: bool = False


def check_files(
    conditions: Conditions, wish: CheckWish, code: CodeAndDecode | None = None
) -> Iterator[dict[str, Any] | EvenhandError]:
    """Check files one after the other; a bad one gives its error and does not stop the rest.

    Raises
    ------
    BadValue
        If there is no such target, or a page was asked for several files or would be overwritten.
    """
    targets = list_targets(choose_data_folder(conditions.data))
    target = None if wish.target is None else find_target(targets, wish.target)
    if wish.page is not None:
        if len(wish.files) != 1:
            raise BadValue("check", "--page", f"{len(wish.files)} files", "one file; make a page of each")
        refuse_overwriting([Path(wish.page)], wish.force)
    return (_check(path, target, wish, code) for path in wish.files)


def gather_evidence(
    path: str, code: CodeAndDecode | None = None, tell: Callable[[float], None] = lambda time_s: None
) -> Evidence:
    """Measure, scan and code one file; what is told is how many seconds of it are measured."""
    with open_sound(path) as sound:
        form = sound.form
        meter = ProgrammeMeter(form.sample_rate_hz, form.channels)
        scanner = FaultScanner(form.sample_rate_hz, form.channels, form.step)
        with ThreadPoolExecutor(1) as beside:
            for block in sound.read(block_frames(form.sample_rate_hz)):
                scanned = beside.submit(scanner.add, block)
                meter.add(block)
                scanned.result()
                tell(sound.frames_read / form.sample_rate_hz)
        programme = meter.finish()
        evidence = Evidence(form, programme, scanner.finish(programme))
    if code is None:
        return replace(evidence, coded_note="coded: coding was not tried")
    loudest = _read_loudest(path, programme.loudness)
    note = f"coded: the loudest {loudest.duration_s:.0f} s"
    return replace(evidence, coded=tuple(_code(loudest, code)), coded_note=note)


def _check(
    path: str, target: Target | None, wish: CheckWish, code: CodeAndDecode | None
) -> dict[str, Any] | EvenhandError:
    """Check one file."""
    try:
        evidence = gather_evidence(path, code)
        verdicts = judge_delivery(evidence, target) if target else ()
        facts = list_check(evidence, target, verdicts)
        if target is None:
            facts["intake"] = list_intake(examine_mix(evidence))
        if wish.page is not None:
            _write_page(wish.page, evidence, target, facts)
    except EvenhandError as error:
        return error
    return facts


def _write_page(page: str, evidence: Evidence, target: Target | None, facts: dict[str, Any]) -> None:
    """Write the page, with pictures of the loudness, the peaks and the spectrum."""
    from trainer.decisions.pictures import gather_pictures
    from trainer.files.check_page import write_check_page

    write_check_page(Path(page), facts, gather_pictures(evidence, target))


def _read_loudest(path: str, loudness: LoudnessTrace) -> Clip:
    """Read the loudest ten seconds, in stereo."""
    power = loudness.power
    width = min(power.size, round(CODED_S / STEP_S))
    total = np.concatenate([[0.0], np.cumsum(power)])
    first = int((total[width:] - total[:-width]).argmax()) if width else 0
    with open_sound(path) as sound:
        rate = sound.form.sample_rate_hz
        samples = sound.read_part(first * rate // 100, max(1, width * rate // 100))
    return Clip(np.ascontiguousarray(_widen(samples).T), rate)


def _widen(samples: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    return np.repeat(samples, 2, axis=0) if samples.shape[0] == 1 else samples


def _code(clip: Clip, code: CodeAndDecode) -> list[CodedPeak]:
    """Code the clip in each way, two at a time, and read the true peak of what comes back."""

    def read(coding: tuple[str, int]) -> CodedPeak:
        codec, kbps = coding
        try:
            back = code(clip, codec, float(kbps))
        except EvenhandError:
            return CodedPeak(codec, kbps, None)
        peak = measure_true_peak(back.samples, back.rate_hz).dbtp
        return CodedPeak(codec, kbps, peak if peak > to_db(1e-6) else None)

    with ThreadPoolExecutor(2) as both:
        return list(both.map(read, CODINGS))
