"""Meters from outside: libebur128, ffmpeg, and a slow true-peak reading of this folder's own."""

from __future__ import annotations

import re
import shutil
import subprocess

import numpy as np
import numpy.typing as npt
import pytest
from scipy.signal import firwin

PHASES, TAPS = 16, 160


def ebur128_lufs(samples: npt.NDArray[np.floating], rate_hz: int) -> float:
    """Read gated loudness with libebur128, LUFS."""
    library = pytest.importorskip("pyebur128")
    state = library.R128State(samples.shape[1], rate_hz, library.MeasurementMode.MODE_I)
    state.add_frames(np.ascontiguousarray(samples, np.float64).reshape(-1), samples.shape[0])
    return float(library.get_loudness_global(state))


def ebur128_dbtp(samples: npt.NDArray[np.floating], rate_hz: int) -> float:
    """Read the true peak of all channels with libebur128, dBTP; minus infinity for silence."""
    library = pytest.importorskip("pyebur128")
    channels = samples.shape[1]
    state = library.R128State(channels, rate_hz, library.MeasurementMode.MODE_TRUE_PEAK)
    state.add_frames(np.ascontiguousarray(samples, np.float64).reshape(-1), samples.shape[0])
    highest = max(library.get_true_peak(state, channel) for channel in range(channels))
    return to_db(highest)


def long_dbtp_of_loop(loop: npt.NDArray[np.floating]) -> float:
    """Read a loop's true peak 16 times oversampled, 160 taps a phase, in float64, all of it, round the seam."""
    prototype = firwin(PHASES * TAPS - 1, 1.0 / PHASES, window=("kaiser", 8.0)) * PHASES
    kernels = np.append(prototype, 0.0).reshape(TAPS, PHASES)[::-1]
    around = np.take(loop, np.arange(-TAPS, loop.shape[0] + TAPS), axis=0, mode="wrap").astype(np.float64)
    highest = float(np.abs(loop).max())
    for channel in around.T:
        windows = np.lib.stride_tricks.sliding_window_view(channel, TAPS)
        for first in range(0, windows.shape[0], 4096):
            rows = np.ascontiguousarray(windows[first : first + 4096])
            highest = max(highest, float(np.abs(rows @ kernels).max()))
    return to_db(highest)


def ffmpeg_dbtp(samples: npt.NDArray[np.floating], rate_hz: int) -> float:
    """Read the true peak with ffmpeg's ebur128 filter, dBTP, to one decimal."""
    program = shutil.which("ffmpeg")
    if program is None:
        pytest.skip("ffmpeg is not installed")
    command = [
        program, "-hide_banner", "-nostats", "-f", "f32le", "-ar", str(rate_hz), "-ac", "2", "-i", "-",
        "-af", "ebur128=peak=true:framelog=verbose", "-f", "null", "-",
    ]  # fmt: skip
    run = subprocess.run(command, input=samples.astype("<f4").tobytes(), capture_output=True, check=True)
    found = re.findall(r"Peak:\s+(-?[\d.]+|-inf) dBFS", run.stderr.decode())
    return float(found[-1])


def to_db(magnitude: float) -> float:
    """Convert a magnitude to dB; minus infinity for 0."""
    return 20 * float(np.log10(magnitude)) if magnitude > 0 else -np.inf


class Ebur128:
    """Read a whole sound with libebur128: momentary and short-term every 100 ms, integrated, range."""

    def __init__(self, samples: npt.NDArray[np.floating], rate_hz: int) -> None:
        library = pytest.importorskip("pyebur128")
        mode = library.MeasurementMode
        state = library.R128State(samples.shape[1], rate_hz, mode.MODE_I | mode.MODE_M | mode.MODE_S | mode.MODE_LRA)
        momentary, short_term, step = [], [], rate_hz // 10
        for count, first in enumerate(range(0, samples.shape[0] - step + 1, step), 1):
            state.add_frames(np.ascontiguousarray(samples[first : first + step], np.float64).reshape(-1), step)
            if count >= 4:
                momentary.append(library.get_loudness_momentary(state))
            if count >= 30:
                short_term.append(library.get_loudness_shortterm(state))
        self.momentary_lufs, self.short_term_lufs = np.array(momentary), np.array(short_term)
        self.integrated_lufs = float(library.get_loudness_global(state))
        self.loudness_range_lu = float(library.get_loudness_range(state))


def ffmpeg_ebur128(samples: npt.NDArray[np.floating], rate_hz: int) -> dict[str, float]:
    """Read I and LRA with ffmpeg's ebur128 filter, to one decimal."""
    program = shutil.which("ffmpeg")
    if program is None:
        pytest.skip("ffmpeg is not installed")
    command = [
        program, "-hide_banner", "-nostats", "-f", "f32le", "-ar", str(rate_hz), "-ac", "2", "-i", "-",
        "-af", "ebur128=framelog=verbose", "-f", "null", "-",
    ]  # fmt: skip
    run = subprocess.run(command, input=samples.astype("<f4").tobytes(), capture_output=True, check=True)
    found = re.findall(r"^\s+(I|LRA):\s+(-?[\d.]+) LUF?S?$", run.stderr.decode(), flags=re.MULTILINE)
    return {name: float(value) for name, value in found}
