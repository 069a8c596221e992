"""Whether a moment is mended by other values of three samples: a click is, a hit is not."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trainer.measure.faults.whitening import Wave, find_responses

# The middle of a click and its neighbours.
OFFSETS = np.array([-1, 0, 1])
REACH_S = 0.001


@dataclass(frozen=True)
class Mending:
    """Hold what is left of a moment without its click.

    Parameters
    ----------
    left_over : ndarray, shape (channels, frames)
        The whitened sound within 1 ms of the place, less the response to the click that explains most of it.
    click : ndarray, shape (channels, 3)
        That click: what it added to the wave's samples about the place.
    """

    left_over: Wave
    click: Wave


def mend(wave: Wave, even: Wave, place: int, rate_hz: int) -> Mending:
    """Take the likeliest click of three samples out of a whitened sound, on each side for itself.

    Parameters
    ----------
    wave, even : ndarray of float32, shape (channels, frames)
        The sound, and the same whitened.
    place : int
        The middle of the click; more than 1 ms from either end.
    rate_hz : int
        Sampling rate.

    Notes
    -----
    To leave the least whitened power is to put in for the samples what their neighbours foretell (S. Godsill and
    P. Rayner, "Digital Audio Restoration", 1998, least-squares interpolation; from memory). A hit goes on after its
    first samples, and its own wave is left over.
    """
    reach = max(8, round(REACH_S * rate_hz))
    responses = find_responses(wave, rate_hz, place)
    lags = np.arange(-reach, reach + 1)[:, None] - OFFSETS
    part = even[:, place - reach : place + reach + 1]
    left_over, click = np.empty_like(part), np.zeros((part.shape[0], OFFSETS.size), dtype=np.float32)
    for channel, row in enumerate(part):
        shapes = responses[channel][lags]
        click[channel] = np.linalg.lstsq(shapes, row, rcond=None)[0]
        left_over[channel] = row - shapes @ click[channel]
    return Mending(left_over, click)
