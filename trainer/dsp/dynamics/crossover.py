"""Crossovers whose bands add up to the sound itself, with no change of phase."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import scipy

from trainer.dsp.processor import Rows

# The kernel has fallen by so many nepers, 139 dB, where it is cut off.
KERNEL_NEPERS = 16.0


def design_low_pass(corner_hz: float, half_frames: int, rate_hz: int) -> npt.NDArray[np.float64]:
    """Design a low-pass of linear phase with a Linkwitz-Riley filter's magnitude, ``1 / (1 + (f / corner)**4)``.

    It is 6.02 dB down at its corner and falls by 24 dB an octave. What is left of the sound, ``1 −`` this, is the
    high-pass of the same kind: in phase the two add up flat.

    Parameters
    ----------
    corner_hz : float
        Well below half the rate, else the slope is less steep.
    half_frames : int
        Taps on either side of the middle.
    rate_hz : int
        Sampling rate.

    Returns
    -------
    ndarray, shape (2 half_frames + 1,)
        Its sum is 1.

    Notes
    -----
    S. P. Lipshitz, J. Vanderkooy, "A family of linear-phase crossover networks of high slope derived by time delay",
    J. Audio Eng. Soc. 31, 1983 (from memory) for the idea of a high-pass as delay less low-pass. The kernel is the
    inverse Fourier transform of the magnitude, in closed form, sampled.
    """
    time = np.abs(np.arange(-half_frames, half_frames + 1)) * _decay_per_frame(corner_hz, rate_hz)
    kernel = np.exp(-time) * (np.cos(time) + np.sin(time))
    return np.asarray(kernel / kernel.sum())


def count_half_frames(corner_hz: float, rate_hz: int) -> int:
    """Count the taps on either side of the middle that a low-pass of a corner needs."""
    return int(np.ceil(KERNEL_NEPERS / _decay_per_frame(corner_hz, rate_hz)))


def _decay_per_frame(corner_hz: float, rate_hz: int) -> float:
    return float(np.sqrt(2) * np.pi * corner_hz / rate_hz)


class BandSplitter:
    """Split sound into bands that add up to it, late by the longest kernel's half.

    Parameters
    ----------
    corners_hz : tuple of float
        Rising; one band more than corners.
    rate_hz : int
        Sampling rate.
    wanted : tuple of int
        Numbers of the bands to give, from 0 for the lowest.
    """

    def __init__(self, corners_hz: tuple[float, ...], rate_hz: int, wanted: tuple[int, ...]) -> None:
        self.latency_frames = count_half_frames(corners_hz[0], rate_hz)
        self._wanted = wanted
        needed = {edge for band in wanted for edge in (band - 1, band) if 0 <= edge < len(corners_hz)}
        self._kernels = {
            edge: design_low_pass(corners_hz[edge], count_half_frames(corners_hz[edge], rate_hz), rate_hz)
            for edge in sorted(needed)
        }
        self._kept = np.zeros((2, 2 * self.latency_frames))

    def split(self, block: Rows) -> tuple[Rows, list[Rows]]:
        """Give the late sound and the bands that are wanted."""
        joined = np.concatenate([self._kept, block], axis=1)
        self._kept = joined[:, joined.shape[1] - self._kept.shape[1] :].copy()
        below = {edge: self._filter(joined, kernel) for edge, kernel in self._kernels.items()}
        late = joined[:, self.latency_frames : joined.shape[1] - self.latency_frames]
        bands = []
        for band in self._wanted:
            upper = below.get(band, late)
            bands.append(upper - below[band - 1] if band > 0 else upper)
        return late, bands

    def _filter(self, joined: Rows, kernel: npt.NDArray[np.float64]) -> Rows:
        """Filter so that every kernel is late by the same."""
        spare = self.latency_frames - kernel.size // 2
        part = joined[:, spare : joined.shape[1] - spare]
        return np.asarray(scipy.signal.oaconvolve(part, kernel[None], mode="valid", axes=1))
