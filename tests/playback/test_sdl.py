"""What SDL really gets, read from the file that its disk driver writes.

The sound is checked against the known versions and closed forms, never against the mixer.
"""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
import scipy.signal

from .children import Steps, run_to_disk
from .signals import (
    VERSION_UNIT,
    Samples,
    bound_faded_sine,
    count_jumps,
    draw_cosine,
    make_counting,
    make_music,
    read_frames,
    read_loudness,
    read_ramped_frames,
    second_difference,
)

pytest.importorskip("pygame")

RATE_HZ = 44100
FADE = 441
FADE_IN = 13230


def switch_often(count: int, versions: int, frames: int) -> Steps:
    """Start, then switch at random."""
    random = np.random.default_rng(4)
    steps: Steps = [["load"], ["note"], ["play"], ["wait_written", 20000]]
    for _ in range(count):
        steps += [["select", int(random.integers(versions))], ["wait_written", frames]]
    return steps


def cut_silence(sound: Samples) -> Samples:
    """Cut the zeros before and behind."""
    heard = np.flatnonzero(sound[:, 1])
    return sound[heard[0] : heard[-1] + 1]


def find_steady(right: npt.NDArray[np.float32], length: int) -> list[tuple[int, int]]:
    """Find the runs, of so many frames at least, of one version: first and last frame."""
    ends = np.flatnonzero(np.diff(right))
    bounds = [-1, *ends.tolist(), len(right) - 1]
    return [(a + 1, b) for a, b in pairwise(bounds) if b - a >= length]


def test_every_frame_in_its_turn_and_each_switch_a_raised_cosine(tmp_path: Path) -> None:
    """Frame numbers of 30 switches never jump, and each lone switch follows its formula to 1e-6."""
    length = 20011
    report, sound = run_to_disk(tmp_path, switch_often(40, 4, 3000), make_counting(4, length), RATE_HZ)
    heard = cut_silence(sound)
    ramp = heard[: FADE_IN - 1]
    np.testing.assert_allclose(ramp[:, 1], VERSION_UNIT * draw_cosine(FADE_IN)[1:], atol=1e-7)
    np.testing.assert_allclose(read_ramped_frames(ramp[50:], 0), np.arange(51, FADE_IN), atol=0.2)
    body = heard[FADE_IN - 1 : -2 * FADE]
    assert count_jumps(read_frames(body), length) == 0
    assert read_frames(body)[0] == FADE_IN % length
    steady = find_steady(body[:, 1], 2)
    switches = list(pairwise(steady))
    assert len(switches) >= 15
    for (_, last), (first, _) in switches:
        before, after = float(body[last, 1]), float(body[first, 1])
        assert before / VERSION_UNIT in (1, 2, 3, 4)
        assert after / VERSION_UNIT in (1, 2, 3, 4)
        # The weight of frame 0 is 0, and float32 hides the first steps near 0 and near 1.
        expected = before + (after - before) * np.append(draw_cosine(FADE), 1.0)
        begin = next(shift for shift in (0, 1) if first - last + shift <= FADE)
        window = body[last - begin : last - begin + FADE + 1, 1]
        np.testing.assert_allclose(window, expected, atol=2e-6)
    assert report["notes"][0]["output"]["kind"] == "sdl"
    assert not report["pygame_mixer"]


def test_a_pause_is_a_hole_without_an_edge(tmp_path: Path) -> None:
    """Over each pause the frame number goes on; the ramps are zero at their ends; the level comes back."""
    length = 30011
    steps: Steps = [["load"], ["play"], ["wait_written", 20000]]
    for _ in range(4):
        steps += [["pause"], ["wait_written", 6000], ["play"], ["wait_written", 6000]]
    _, sound = run_to_disk(tmp_path, steps, make_counting(1, length), RATE_HZ)
    heard = cut_silence(sound)[FADE_IN:]
    silent = np.flatnonzero(heard[:, 1] == 0.0)
    holes = np.split(silent, np.flatnonzero(np.diff(silent) > 1) + 1)
    assert len(holes) == 4
    for hole in holes:
        down, up = heard[hole[0] - FADE + 1 : hole[0]], heard[hole[-1] + 1 : hole[-1] + FADE]
        np.testing.assert_allclose(down[:, 1], VERSION_UNIT * (1.0 - draw_cosine(FADE)[1:]), atol=1e-7)
        np.testing.assert_allclose(up[:, 1], VERSION_UNIT * draw_cosine(FADE)[1:], atol=1e-7)
        stopped, went_on = read_ramped_frames(down[:-50], 0)[-1], read_ramped_frames(up[50:], 0)[0]
        # 50 frames are left out on each side, and the frame of weight 0 is in the loop but not heard.
        assert round(went_on - stopped) % length == 50 + 50 + 2
        assert np.all(heard[hole[-1] + 1 + FADE : hole[-1] + 3 * FADE, 1] == VERSION_UNIT)


def test_nothing_clicks(tmp_path: Path) -> None:
    """The written sound of 40 switches and some pauses stays under the bound of calculus for a faded sine."""
    length = 4410
    omega = 2 * math.pi * 40 / length
    time = np.arange(length)
    versions = np.empty((3, length, 2), dtype=np.float32)
    for index, (gain, phase) in enumerate([(0.5, 0.0), (0.3, 2.0), (0.5, 4.0)]):
        versions[index] = (gain * np.sin(omega * time + phase))[:, np.newaxis]
    steps = switch_often(40, 3, 2000)
    for at in (20, 50, 80):
        steps[at:at] = [["pause"], ["wait_written", 4000], ["play"]]
    _, sound = run_to_disk(tmp_path, steps, versions, RATE_HZ)
    bound = bound_faded_sine(0.5, omega, FADE, overlapping=2)
    assert np.abs(sound).max() > 0.49
    assert second_difference(sound[:, 0]) <= bound + 1e-6


def match_loudness(version: Samples, target_lufs: float) -> Samples:
    """Scale a loop until pyebur128 reads the target on eight turns."""
    error_db = target_lufs - read_loudness(np.tile(version, (8, 1)), RATE_HZ)
    return (version * 10 ** (error_db / 20)).astype(np.float32)


def test_matched_versions_are_written_bit_by_bit_and_equally_loud(tmp_path: Path) -> None:
    """Three versions, one filtered, matched by pyebur128: the file holds exactly them, within 0.01 LU."""
    music = make_music(RATE_HZ, 1.0)
    tops = scipy.signal.sosfilt(
        scipy.signal.butter(2, 3000, "highpass", fs=RATE_HZ, output="sos"), np.tile(music, (2, 1)), axis=0
    )[len(music) :]
    versions = np.stack(
        [match_loudness(loop, -23.0) for loop in (music, music + 0.5 * tops.astype(np.float32), music[::-1])]
    )
    steps: Steps = [
        ["load"],
        ["play"],
        ["wait", 0.7],
        ["select", 1],
        ["wait", 0.6],
        ["select", 2],
        ["wait", 0.6],
    ]
    _, sound = run_to_disk(tmp_path, steps, versions, RATE_HZ)
    heard = cut_silence(sound)
    # The frame of weight 0 at the start is cut away with the silence.
    turn = (1 + np.arange(len(heard))) % len(music)
    loudness = []
    for version in versions:
        same = np.flatnonzero(np.all(heard == version[turn], axis=1))
        runs = np.split(same, np.flatnonzero(np.diff(same) > 1) + 1)
        longest = max(runs, key=len)
        whole = len(longest) // len(music) * len(music)
        assert whole >= 2 * len(music)
        at_head = longest[0] + (-turn[longest[0]]) % len(music)
        loudness.append(read_loudness(heard[at_head : at_head + whole - len(music)], RATE_HZ))
    assert max(loudness) - min(loudness) <= 0.05
    assert abs(loudness[0] + 23.0) < 0.3


def test_another_load_while_playing_is_clean(tmp_path: Path) -> None:
    """The second load ramps the first down by its formula, fades in again and counts from frame 0."""
    length = 30011
    steps: Steps = [["load"], ["play"], ["wait_written", 20000], ["load"], ["play"], ["wait_written", 20000]]
    _, sound = run_to_disk(tmp_path, steps, make_counting(2, length), RATE_HZ)
    heard = cut_silence(sound)[FADE_IN:]
    silent = np.flatnonzero(heard[:, 1] == 0.0)
    hole = np.split(silent, np.flatnonzero(np.diff(silent) > 1) + 1)[0]
    down = heard[hole[0] - FADE + 1 : hole[0]]
    np.testing.assert_allclose(down[:, 1], VERSION_UNIT * (1.0 - draw_cosine(FADE)[1:]), atol=1e-7)
    again = heard[hole[-1] + 1 :]
    np.testing.assert_allclose(again[: FADE_IN - 1, 1], VERSION_UNIT * draw_cosine(FADE_IN)[1:], atol=1e-7)
    assert list(read_frames(again[FADE_IN - 1 : FADE_IN + 2])) == [FADE_IN, FADE_IN + 1, FADE_IN + 2]


def test_closing_never_waits_for_itself(tmp_path: Path) -> None:
    """Opened and closed six times while blocks come: SDL's thread and the interpreter do not deadlock.

    SDL's thread waits for the interpreter to fill a block, and closing waits for that thread.
    """
    steps: Steps = [["load_at", rate_hz] for rate_hz in (44100, 48000) * 3]
    versions = make_counting(1, 500)
    report, _ = run_to_disk(tmp_path, [*steps, ["note"]], versions, RATE_HZ)
    assert report["notes"][0]["output"]["rate_hz"] == 48000
    assert report["notes"][0]["output"]["kind"] == "sdl"
