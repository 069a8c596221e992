"""The signals of EBU Tech 3341 (2023), Table 1, and Tech 3342 (2016), made from their descriptions.

The documents' own files may not be passed on; sines, levels and lengths are as the tables state them.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.signal import firwin, upfirdn

from tests.measure.sounds import Wave, tone_steps

SILENCE_DBFS = -400.0
Parts = tuple[tuple[float, float], ...]

INTEGRATED: dict[int, tuple[Parts, float]] = {
    1: (((20, -23.0),), -23.0),
    2: (((20, -33.0),), -33.0),
    3: (((10, -36.0), (60, -23.0), (10, -36.0)), -23.0),
    4: (((10, -72.0), (10, -36.0), (60, -23.0), (10, -36.0), (10, -72.0)), -23.0),
    5: (((20, -26.0), (20.1, -20.0), (20, -26.0)), -23.0),
}
RANGES: dict[int, tuple[tuple[float, ...], float]] = {
    1: ((-20.0, -30.0), 10.0),
    2: ((-20.0, -15.0), 5.0),
    3: ((-40.0, -20.0), 20.0),
    4: ((-50.0, -35.0, -20.0, -35.0, -50.0), 15.0),
}


def five_channels(rate_hz: int) -> Wave:
    """Case 6: left and right −28, centre −24, surrounds −30 dBFS, 20 s."""
    tone = tone_steps(((20, 0.0),), rate_hz)[:, :1]
    return np.asarray(tone * 10 ** (np.array([-28.0, -28.0, -24.0, -30.0, -30.0]) / 20))


def alternating_short_term(rate_hz: int) -> Wave:
    """Case 9: five times 1.34 s at −20 and 1.66 s at −30 dBFS."""
    return tone_steps(((1.34, -20.0), (1.66, -30.0)) * 5, rate_hz)


def alternating_momentary(rate_hz: int) -> Wave:
    """Case 12: 25 times 0.18 s at −20 and 0.22 s at −30 dBFS."""
    return tone_steps(((0.18, -20.0), (0.22, -30.0)) * 25, rate_hz)


def list_short_term_segments(rate_hz: int) -> list[Wave]:
    """Case 10: twenty files, each 3 s at −23 dBFS after i · 0.15 s of silence and 1 s before the end."""
    return [tone_steps(((i * 0.15, SILENCE_DBFS), (3, -23.0), (1, SILENCE_DBFS)), rate_hz) for i in range(20)]


def list_momentary_segments(rate_hz: int) -> list[Wave]:
    """Case 13: twenty files, each 0.4 s at −23 dBFS after i · 20 ms of silence and 1 s before the end."""
    return [tone_steps(((i * 0.02, SILENCE_DBFS), (0.4, -23.0), (1, SILENCE_DBFS)), rate_hz) for i in range(20)]


def stream_short_term(rate_hz: int) -> Wave:
    """Case 11: one stream of twenty times 6 s, a 3 s tone rising by 1 dB from −38 dBFS, later by 0.15 s each time."""
    parts = [((i * 0.15, SILENCE_DBFS), (3.0, -38.0 + i), (3 - i * 0.15, SILENCE_DBFS)) for i in range(20)]
    return tone_steps(sum(parts, ()), rate_hz)


def stream_momentary(rate_hz: int) -> Wave:
    """Case 14: one stream of twenty times 0.8 s, a 0.4 s tone rising by 1 dB from −38, later by 20 ms each time."""
    parts = [((i * 0.02, SILENCE_DBFS), (0.4, -38.0 + i), (0.4 - i * 0.02, SILENCE_DBFS)) for i in range(20)]
    return tone_steps(sum(parts, ()), rate_hz)


def hidden_peak(rate_hz: int, offset: int) -> npt.NDArray[np.float32]:
    """Cases 20 to 23: a sine of fs/6, 0.50, with one period of fs/4 at 1.00, made at 4 fs and decimated at an offset.

    The table fixes neither splice nor filter; here the period begins at a zero crossing, the filter is a
    1023-tap low-pass at 0.95 of the Nyquist frequency, and both ends fade for 10 ms.
    """
    periods = rate_hz // 40
    carrier = 0.5 * np.sin(2 * np.pi * np.arange(24 * periods) / 24)
    wave = np.concatenate([carrier, np.sin(2 * np.pi * np.arange(16) / 16), carrier])
    fade = np.linspace(0, 1, 4 * rate_hz // 100)
    wave[: fade.size] *= fade
    wave[-fade.size :] *= fade[::-1]
    band = upfirdn(firwin(1023, 0.95 / 4), wave)[511 : 511 + wave.size]
    return np.repeat(band[offset::4, None], 2, axis=1).astype(np.float32)
