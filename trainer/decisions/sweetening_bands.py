"""A start for one band of a multiband compressor: the band that comes and goes more than the others do."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import scipy

from trainer.audio.clip import Clip
from trainer.decisions.sheet import Candidate
from trainer.decisions.sweetening_ground import Ground
from trainer.dsp.move import complete_settings
from trainer.dsp.moves import MOVES
from trainer.errors import NotReachable
from trainer.units import begin_large, write_frequency, write_number

# An amount to begin with; common practice, no source.
AMOUNT_DB, ATTACK_MS, RELEASE_MS = 1.5, 10.0, 120.0
# How far the loud moments of a band usually stand over its middle: medians of the demo songs, where cymbals make the
# highest band come and go. One band has to be so much over that, and over the others.
USUAL_DB, OVER_USUAL_DB, OVER_OTHERS_DB = np.array([5.0, 4.5, 4.0, 8.0]), 2.5, 2.5
CORNERS = ("low_crossover_hz", "middle_crossover_hz", "high_crossover_hz")
NAMES = ("low", "low_mid", "high_mid", "high")
FRAME_S = 0.4
# Only where the song plays: within this of its loudest moments.
PLAYING_DB = 12.0


def propose_band(ground: Ground) -> Candidate:
    """Propose one band.

    Raises
    ------
    NotReachable
        With the reason why it makes no sense on this song.
    """
    defaults = complete_settings(MOVES["multiband"], {})
    edges = (0.0, *(defaults[name] for name in CORNERS), math.inf)
    swings = measure_swings(ground.song, edges)
    over = swings - USUAL_DB
    number = int(np.argmax(over))
    others = float(np.median(np.delete(over, number)))
    where = _name(edges[number], edges[number + 1])
    shown = (
        f"stand {write_number(swings[number])} dB over what is usual there against the rest, where "
        f"{write_number(USUAL_DB[number])} dB is common"
    )
    if over[number] < OVER_USUAL_DB or over[number] - others < OVER_OTHERS_DB:
        raise NotReachable(f"No band comes and goes more than the others: {where} loud moments {shown}.")
    asked = {"band_number": float(number + 1), "attack_ms": ATTACK_MS, "release_ms": RELEASE_MS}
    settings = ground.solve("multiband", AMOUNT_DB, asked)
    reason = f"{begin_large(where)} loud moments {shown}. If an equaliser does as well, take that."
    return ground.make_candidate(f"multiband_{NAMES[number]}", "multiband", AMOUNT_DB, settings, reason)


def measure_swings(song: Clip, edges_hz: tuple[float, ...]) -> npt.NDArray[np.float64]:
    """Measure how far the loud moments of each band stand over its usual level against the others.

    Parameters
    ----------
    song : Clip
        The whole song.
    edges_hz : tuple of float
        Edges of the bands, lowest first.

    Returns
    -------
    ndarray, shape (bands,)
        95th percentile less the median of the level against all other bands, over 0.4 s, where the song plays, dB.
    """
    length = round(FRAME_S * song.rate_hz)
    window = np.hanning(length + 1)[:-1].astype(np.float32)
    lines = np.arange(length // 2 + 1) * song.rate_hz / length
    places = [int(np.searchsorted(lines, edge)) for edge in edges_hz]
    powers = []
    for first in range(0, max(1, song.frames - length + 1), length // 2):
        part = song.samples[first : first + length].T
        if part.shape[1] < length:
            break
        spectrum = (np.abs(scipy.fft.rfft(part * window, axis=1)) ** 2).sum(axis=0)
        powers.append([spectrum[low:high].sum() for low, high in pairwise(places)])
    bands = np.asarray(powers, dtype=np.float64).reshape(-1, len(places) - 1)
    whole = bands.sum(axis=1)
    playing = whole > whole.max(initial=0.0) * 10 ** (-PLAYING_DB / 10)
    if not playing.any() or not whole.max(initial=0.0) > 0:
        return np.zeros(len(places) - 1)
    rest = np.maximum(whole[playing, None] - bands[playing], 1e-12 * whole[playing, None])
    against = 10 * np.log10(np.maximum(bands[playing] / rest, 1e-9))
    return np.asarray(np.percentile(against, 95, axis=0) - np.median(against, axis=0))


def _name(low_hz: float, high_hz: float) -> str:
    """Name a band, as the subject of its loud moments."""
    if low_hz <= 0:
        return f"below {write_frequency(high_hz)} the"
    if not math.isfinite(high_hz):
        return f"above {write_frequency(low_hz)} the"
    return f"from {write_frequency(low_hz)} to {write_frequency(high_hz)} the"
