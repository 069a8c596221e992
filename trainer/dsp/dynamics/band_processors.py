"""Compressors of bands under way: a multiband one, and a bell that comes and goes."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from trainer.dsp.dynamics.compression import Compression
from trainer.dsp.dynamics.compressor_processor import BLOCK_FRAMES, GainRider, make_gain
from trainer.dsp.dynamics.crossover import BandSplitter
from trainer.dsp.processor import Rows, SectionFilter


class MultibandProcessor:
    """Ride the gain of each band; bands without a compressor stay as they are.

    The output is the late sound plus what each band's gain takes from its band, so that without any reduction it is
    the sound itself, to the bit.

    Parameters
    ----------
    corners_hz : tuple of float
        Crossovers, rising.
    bands : tuple of Compression or None
        From the lowest band up, one more than corners.
    rate_hz : int
        Sampling rate.
    """

    def __init__(self, corners_hz: tuple[float, ...], bands: tuple[Compression | None, ...], rate_hz: int) -> None:
        active = tuple(number for number, band in enumerate(bands) if band is not None)
        self._splitter = BandSplitter(corners_hz, rate_hz, active)
        self._riders = [GainRider(band, rate_hz) for band in bands if band is not None]
        self.latency_frames = self._splitter.latency_frames

    def process(self, block: Rows) -> Rows:
        """Compress a block."""
        out = np.empty_like(block)
        for start in range(0, block.shape[1], BLOCK_FRAMES):
            late, bands = self._splitter.split(block[:, start : start + BLOCK_FRAMES])
            part = out[:, start : start + BLOCK_FRAMES]
            part[:] = late
            for rider, band in zip(self._riders, bands, strict=True):
                part += (make_gain(rider.ride(band)) - 1.0) * band
        return out


class DynamicBellProcessor:
    """Turn a band down by a bell whose depth follows the band's own level.

    With B the band-pass, the output is ``x + (g − 1) B x``: at the centre the gain is g exactly, and far from it 1.

    Parameters
    ----------
    centre_hz, q : float
        Of the band-pass.
    compression : Compression
        What the band's level does.
    rate_hz : int
        Sampling rate.
    """

    latency_frames = 0

    def __init__(self, centre_hz: float, q: float, compression: Compression, rate_hz: int) -> None:
        self._band = SectionFilter(design_band_pass(centre_hz, q, rate_hz))
        self._rider = GainRider(compression, rate_hz)

    def process(self, block: Rows) -> Rows:
        """Process a block."""
        out = np.empty_like(block)
        for start in range(0, block.shape[1], BLOCK_FRAMES):
            part = block[:, start : start + BLOCK_FRAMES]
            band = self._band.process(part)
            np.add(part, (make_gain(self._rider.ride(band)) - 1.0) * band, out=out[:, start : start + BLOCK_FRAMES])
        return out


def design_band_pass(centre_hz: float, q: float, rate_hz: int) -> npt.NDArray[np.float64]:
    """Design a band-pass of two poles, 0 dB and no phase at its centre, shape (1, 6).

    Notes
    -----
    R. Bristow-Johnson, Audio EQ Cookbook (W3C note), band-pass of constant peak gain.
    """
    angle = 2 * np.pi * centre_hz / rate_hz
    alpha = np.sin(angle) / (2 * q)
    section = np.array([[alpha, 0.0, -alpha, 1 + alpha, -2 * np.cos(angle), 1 - alpha]])
    return np.asarray(section / section[0, 3])
