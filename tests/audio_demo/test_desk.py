"""The workshop's desk: the shares of all strips are the mix."""

from __future__ import annotations

import numpy as np

from audio_demo.make.desk import Return, Strip, isolated, mix, summed
from audio_demo.make.filters import high_cut, low_shelf
from audio_demo.make.reverb import ROOM

RATE_HZ = 48_000


def test_shares_add_up_to_the_sum() -> None:
    """Linear spaces and a linear equaliser: the sum of the shares is the sum of the tracks, to −110 dB of it."""
    rng = np.random.default_rng(7)
    stems = {name: np.float32(0.1) * rng.standard_normal((2 * RATE_HZ, 1)).astype(np.float32) for name in "abc"}
    strips = (
        Strip("a", -20.0, pan=-0.5, sends_db={"room": -6.0}),
        Strip("b", -24.0, pan=0.3, sends_db={"room": -12.0}, ducked_by="a", duck_db=3.0),
        Strip("c", -30.0, rides=((0.0, -3.0), (1.0, 2.0))),
    )
    returns = {"room": Return(ROOM, (high_cut(8000.0),), -2.0)}
    tracks = mix(stems, strips, returns, (low_shelf(120.0, 3.0),), (0.0, 2.0), 11)
    whole = summed(tracks).astype(np.float64)
    shares = [isolated(tracks, names, strips, returns, 11) for names in (("a", "c"), ("b",))]
    error = whole - sum(share.astype(np.float64) for share in shares)
    assert 20.0 * np.log10(np.abs(error).max() / np.abs(whole).max()) < -110.0
    assert np.abs(shares[0]).max() > 0.01 and np.abs(shares[1]).max() > 0.01
