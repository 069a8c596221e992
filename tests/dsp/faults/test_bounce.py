"""A faulty bounce: every fault that is listed is found by simple means of the test's own, with its figures."""

from __future__ import annotations

import numpy as np
import pytest

from tests.dsp.faults.songs import RATE_HZ, beat, ending
from tests.measure.meters import ebur128_dbtp
from trainer.audio.clip import Clip
from trainer.dsp.faults.bounce import Stretch, make_faulty_bounce
from trainer.errors import BadValue


def _song() -> Clip:
    """A beat of eight seconds that then dies away."""
    tail = ending(0.3).samples[RATE_HZ:]
    return Clip(np.concatenate([beat().samples, beat().samples, tail]), RATE_HZ)


def test_it_lists_what_is_in_it() -> None:
    """Click, clipped chorus, missing fade, rumble and overs, each at its place and as strong as it says."""
    bounce = make_faulty_bounce(_song(), Stretch(4.0, 6.0), 8.6, seed=3)
    samples = bounce.clip.samples
    by_kind = {fault.fault: fault for fault in bounce.faults}
    assert sorted(by_kind) == ["abrupt_end", "click", "clipped_run", "intersample_over", "rumble"]
    assert all(fault.clip is bounce.clip for fault in bounce.faults)
    assert [fault.place_s for fault in bounce.faults] == sorted(fault.place_s for fault in bounce.faults)

    # The steepest bend of the first 100 ms is the click.
    bend = np.abs(np.diff(samples[:4800], 3, axis=0)).max(axis=1)
    assert int(bend.argmax()) == pytest.approx(by_kind["click"].place_s * RATE_HZ, abs=3)

    top = float(np.abs(samples[4 * RATE_HZ : 6 * RATE_HZ]).max())
    flat = (np.abs(samples) == np.float32(top)).any(axis=1)
    assert flat[4 * RATE_HZ : 6 * RATE_HZ].sum() > 100
    lengths = np.diff(np.flatnonzero(np.diff(np.concatenate([[False], flat, [False]]).astype(int))))[::2]
    assert by_kind["clipped_run"].strength <= lengths.max() <= by_kind["clipped_run"].strength + 30

    assert np.abs(samples).max() <= 1.0
    assert ebur128_dbtp(samples, RATE_HZ) > 0.4
    overs = [fault for fault in bounce.faults if fault.fault == "intersample_over"]
    assert len(overs) == 3
    for over in overs:
        at = int(over.place_s * RATE_HZ)
        part = np.pad(samples[at : at + 192], ((200, 200), (0, 0)))
        assert ebur128_dbtp(part, RATE_HZ) == pytest.approx(over.strength, abs=0.25)

    power = (np.abs(np.fft.rfft(samples, axis=0)) ** 2).sum(axis=1)
    bins = np.fft.rfftfreq(samples.shape[0], 1 / RATE_HZ)
    assert 10 * np.log10(power[(bins > 5) & (bins < 18)].sum() / power.sum()) > -36
    assert bounce.clip.duration_s == pytest.approx(8.6, abs=1e-4)
    assert np.abs(samples[-480:]).max() > 0.003
    assert by_kind["abrupt_end"].strength > 300


def test_a_seed_repeats_it_and_another_does_not() -> None:
    """The same to the bit, or other places."""
    first, again, other = (make_faulty_bounce(_song(), Stretch(4.0, 6.0), 8.6, seed) for seed in (1, 1, 2))
    np.testing.assert_array_equal(first.clip.samples, again.clip.samples)
    assert [f.place_s for f in first.faults] != [f.place_s for f in other.faults]


@pytest.mark.parametrize(("chorus", "ends_s"), [((6.0, 4.0), 8.6), ((4.0, 6.0), 5.0), ((4.0, 6.0), 99.0)])
def test_places_that_make_no_bounce_are_refused(chorus: tuple[float, float], ends_s: float) -> None:
    """One line."""
    with pytest.raises(BadValue):
        make_faulty_bounce(_song(), Stretch(*chorus), ends_s, 1)
