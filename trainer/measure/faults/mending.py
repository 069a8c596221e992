"""Whether a moment is mended by other values of three samples: a click is, a hit or a shaved peak is not."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trainer.measure.faults.whitening import Wave, find_responses

# Samples on either side of a click's middle that it may take; and of a peak's, over which a ceiling rounds it.
CLICK_SIDE, PEAK_SIDE = 1, 3
REACH_S = 0.001
# What a clipper or a limiter took down still is about as high as anything within 10 ms.
AS_HIGH, NEAR_S = 0.95, 0.01


@dataclass(frozen=True)
class Mending:
    """Hold what is left of a moment without its click.

    Parameters
    ----------
    left_over : ndarray, shape (channels, frames)
        The whitened sound within 1 ms of the place, less the response to the click that explains most of it.
    click : ndarray, shape (channels, 2 side + 1)
        That click: what it added to the wave's samples about the place.
    """

    left_over: Wave
    click: Wave


def mend(wave: Wave, even: Wave, place: int, rate_hz: int, side: int = CLICK_SIDE) -> Mending:
    """Take the likeliest click of a few samples out of a whitened sound, on each side for itself.

    Parameters
    ----------
    wave, even : ndarray of float32, shape (channels, frames)
        The sound, and the same whitened.
    place : int
        The middle of the click; more than 1 ms from either end.
    rate_hz : int
        Sampling rate.
    side : int
        Samples on either side of the middle that may be part of it.

    Notes
    -----
    To leave the least whitened power is to put in for the samples what their neighbours foretell (S. Godsill and
    P. Rayner, "Digital Audio Restoration", 1998, least-squares interpolation; from memory). A hit goes on after its
    first samples, and its own wave is left over.
    """
    reach = max(8, round(REACH_S * rate_hz))
    responses = find_responses(wave, rate_hz, place)
    lags = np.arange(-reach, reach + 1)[:, None] - np.arange(-side, side + 1)
    part = even[:, place - reach : place + reach + 1]
    left_over, click = np.empty_like(part), np.zeros((part.shape[0], 2 * side + 1), dtype=np.float32)
    for channel, row in enumerate(part):
        shapes = responses[channel][lags]
        click[channel] = np.linalg.lstsq(shapes, row, rcond=None)[0]
        left_over[channel] = row - shapes @ click[channel]
    return Mending(left_over, click)


def is_shaved(wave: Wave, even: Wave, place: int, rate_hz: int) -> bool:
    """Tell whether a peak was taken down to a ceiling: as high as all near it, and higher still when mended.

    Where a clipper or a limiter rounds a short peak, what it took away is as short as a click. A click sticks out of
    the music; this is music that no longer does. Parameters as those of `mend`.
    """
    click = mend(wave, even, place, rate_hz, PEAK_SIDE).click
    channel = int(np.abs(click).max(axis=1).argmax())
    row, near = wave[channel], int(NEAR_S * rate_hz)
    samples = row[place - PEAK_SIDE : place + PEAK_SIDE + 1]
    highest = float(np.abs(row[place - near : place + near + 1]).max())
    top = int(np.abs(samples).argmax())
    height = float(abs(samples[top]))
    return height >= AS_HIGH * highest and float(abs(samples[top] - click[channel, top])) > height
