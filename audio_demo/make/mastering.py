"""A plain master for a reference song: rumble off, to a loudness, a limiter for the tops, and the end led out."""

from __future__ import annotations

from .facts import loudness_lufs
from .filters import equalise, low_cut
from .hot_bus import Limiter, led_out, limit
from .signal import Audio

_RUMBLE_HZ = 24.0
# What a limiter without oversampling leaves between its samples has room below −1 dBTP.
_HOLD_DBFS, _CUT_DBFS = -2.0, -1.2
_AHEAD_MS, _RELEASE_MS = 1.5, 90.0
_FADE_S, _STILL_S = 1.4, 0.3


def mastered(total: Audio, loudness: float) -> Audio:
    """Return a sum driven into the limiter as far as would bring it to a loudness in LUFS without one."""
    clean = equalise(total, (low_cut(_RUMBLE_HZ),))
    unit = Limiter(loudness - loudness_lufs(clean), _HOLD_DBFS, _CUT_DBFS, _AHEAD_MS, _RELEASE_MS)
    return led_out(limit(clean, unit), fade_s=_FADE_S, still_s=_STILL_S)
