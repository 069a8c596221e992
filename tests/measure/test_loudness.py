"""Loudness against ITU-R BS.1770, EBU Tech 3341, libebur128 and pyloudnorm."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from tests.measure.meters import ebur128_lufs
from tests.measure.sounds import music_like, noise, sine, tone_steps
from trainer.measure.loudness import measure_integrated_lufs, measure_loop_level_db, measure_loop_lufs
from trainer.measure.second_reading import read_loop_lufs

RATES_HZ = (44100, 48000, 96000)
TECH_3341 = {
    1: (((20, -23.0),), -23.0),
    2: (((20, -33.0),), -33.0),
    3: (((10, -36.0), (60, -23.0), (10, -36.0)), -23.0),
    4: (((10, -72.0), (10, -36.0), (60, -23.0), (10, -36.0), (10, -72.0)), -23.0),
    5: (((20, -26.0), (20.1, -20.0), (20, -26.0)), -23.0),
}


@pytest.mark.parametrize(("sides", "wished"), [((1.0, 0.0), -3.01), ((0.0, 1.0), -3.01), ((1.0, 1.0), 0.0)])
def test_anchor(sides: tuple[float, float], wished: float) -> None:
    """ITU-R BS.1770-5, Annex 1: a 0 dBFS sine at 997 Hz on one front channel reads −3.01 LKFS; on both, 0.00."""
    tone = sine(997.0, 1.0, 2 * 48000, 48000) * np.array(sides)
    assert measure_integrated_lufs(tone, 48000) == pytest.approx(wished, abs=0.005)


def test_one_channel_reads_as_one_of_two() -> None:
    """ITU-R BS.1770-5, Annex 1: a channel that is silent adds nothing."""
    tone = sine(997.0, 1.0, 48000, 48000)[:, :1]
    assert measure_integrated_lufs(tone, 48000) == pytest.approx(-3.01, abs=0.005)


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("case", sorted(TECH_3341))
def test_minimum_requirements(case: int, rate_hz: int) -> None:
    """EBU Tech 3341 (2023), Table 1, cases 1 to 5: within ±0.1 LU."""
    parts, wished = TECH_3341[case]
    assert measure_integrated_lufs(tone_steps(parts, rate_hz), rate_hz) == pytest.approx(wished, abs=0.1)


@pytest.mark.parametrize(
    ("frequency_hz", "peak_dbfs"),
    [(25, -11.916), (100, -21.176), (500, -22.351), (1000, -23.007), (2000, -25.380), (10000, -26.351)],
)
def test_single_tones_read_minus_23(frequency_hz: float, peak_dbfs: float) -> None:
    """The tones of Report ITU-R BS.2217; peaks follow from BS.1770-5, Tables 1 and 2, in closed form."""
    tone = sine(frequency_hz, 10 ** (peak_dbfs / 20), 4 * 48000, 48000, fade_s=0.0)
    assert measure_integrated_lufs(tone, 48000) == pytest.approx(-23.0, abs=0.02)


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_agrees_with_libebur128(rate_hz: int) -> None:
    """Against libebur128 on white noise, on bursts that meet both gates, and on a beat: 0.001 LU."""
    steps = np.repeat([1.0, 0.05, 0.5, 1e-5, 0.2, 0.02], int(0.73 * rate_hz))[:, None]
    for samples in (
        noise(5 * rate_hz, 0.1, 2),
        noise(steps.size, 0.2, 3) * steps,
        music_like(3 * rate_hz, rate_hz, 4),
    ):
        ours = measure_integrated_lufs(samples, rate_hz)
        assert ours == pytest.approx(ebur128_lufs(samples, rate_hz), abs=0.001)


@pytest.mark.parametrize("frames", [0, 1, 19199])
def test_without_a_whole_block_there_is_no_loudness(frames: int) -> None:
    """ITU-R BS.1770-5, Annex 1: blocks are 400 ms; an incomplete one is not used."""
    assert measure_integrated_lufs(noise(frames, 0.1, 1), 48000) == -np.inf


def test_one_block_is_enough_and_the_absolute_gate_holds() -> None:
    """ITU-R BS.1770-5, Annex 1: nothing below −70 LKFS counts. A stereo sine at 997 Hz reads its peak level."""
    assert measure_integrated_lufs(sine(997.0, 0.1, 19200, 48000), 48000) == pytest.approx(-20.0, abs=0.05)
    assert measure_integrated_lufs(sine(997.0, 10 ** (-69.8 / 20), 48000, 48000), 48000) > -70.0
    assert measure_integrated_lufs(sine(997.0, 10 ** (-70.2 / 20), 48000, 48000), 48000) == -np.inf


def _loops() -> list[tuple[str, int, npt.NDArray[np.float64]]]:
    return [
        ("noise", 48000, noise(3 * 48000, 0.1, 6)),
        ("beat", 48000, music_like(4 * 48000, 48000, 7)),
        ("beat", 44100, music_like(4 * 44100, 44100, 8)),
        ("odd", 48000, music_like(4 * 48000 + 1234, 48000, 9)),
        ("short", 48000, music_like(24000, 48000, 10)),
    ]


@pytest.mark.parametrize(("name", "rate_hz", "loop"), _loops())
def test_a_loop_reads_as_its_repetition(name: str, rate_hz: int, loop: npt.NDArray[np.float64]) -> None:
    """Against libebur128 on 40 s of the loop round and round: 0.01 LU.

    The last round goes on for 300 ms, so that blocks of 400 ms begin at every 100 ms of every round alike.
    """
    rounds = max(10, 40 * rate_hz // loop.shape[0])
    repeated = np.concatenate([np.tile(loop, (rounds, 1)), np.tile(loop, (2, 1))[: int(0.3 * rate_hz)]])
    assert measure_loop_lufs(loop, rate_hz) == pytest.approx(ebur128_lufs(repeated, rate_hz), abs=0.01)


@pytest.mark.parametrize(("name", "rate_hz", "loop"), _loops())
def test_a_loop_has_no_beginning(name: str, rate_hz: int, loop: npt.NDArray[np.float64]) -> None:
    """The endless repetition is the same sound wherever it is said to begin (definition)."""
    read = [measure_loop_lufs(np.roll(loop, s, axis=0), rate_hz) for s in (0, 1, 777, 2400, 20000)]
    assert np.ptp(read) < 0.01


def test_a_loop_with_pauses_is_read_on_the_grid_of_a_meter_at_its_start() -> None:
    """libebur128 on the repetition, where blocks lie at the edge of the relative gate: 0.01 LU.

    Begun whole steps of 100 ms later it is the same grid of blocks, and the same figure (definition).
    """
    level = np.repeat([1.0, 1.0, 0.04, 0.04, 0.9, 0.0, 0.03, 0.4], 24000)
    loop = noise(level.size, 0.1, 11) * level[:, None]
    read = [measure_loop_lufs(np.roll(loop, s, axis=0), 48000) for s in range(0, 24000, 4800)]
    assert np.ptp(read) < 1e-6
    tiled = np.concatenate([np.tile(loop, (12, 1)), loop[:14400]])
    assert read[0] == pytest.approx(ebur128_lufs(tiled, 48000), abs=0.01)


@pytest.mark.parametrize(("name", "rate_hz", "loop"), _loops())
def test_the_second_reading_agrees(name: str, rate_hz: int, loop: npt.NDArray[np.float64]) -> None:
    """pyloudnorm over some rounds and our reading round the loop: 0.02 LU."""
    assert read_loop_lufs(loop, rate_hz) == pytest.approx(measure_loop_lufs(loop, rate_hz), abs=0.02)


def test_the_filters_are_in_their_steady_state() -> None:
    """Closed form: a high-pass lets no constant through, so in the endless loop an offset is not heard at all."""
    tone = sine(997.0, 0.1, 48000, 48000)
    for read in (measure_loop_lufs, measure_loop_level_db):
        assert read(tone + 0.8, 48000) == pytest.approx(-20.0, abs=0.005)


def test_silence_reads_minus_infinity_everywhere() -> None:
    """The logarithm of nothing (closed form)."""
    silence = np.zeros((96000, 2), np.float32)
    for read in (measure_integrated_lufs, measure_loop_lufs, measure_loop_level_db, read_loop_lufs):
        assert read(silence, 48000) == -np.inf


def test_level_without_gates_follows_a_gain_below_the_gate() -> None:
    """Closed form: a gain of −80 dB lowers any level by 80 dB; a steady sound reads the same gated and not."""
    loop = music_like(96000, 48000, 12)
    plain = measure_loop_level_db(loop, 48000)
    assert measure_loop_level_db(loop * 1e-4, 48000) == pytest.approx(plain - 80.0, abs=1e-6)
    tone = sine(997.0, 0.1, 48000, 48000)
    assert measure_loop_level_db(tone, 48000) == pytest.approx(-20.0, abs=0.005)
