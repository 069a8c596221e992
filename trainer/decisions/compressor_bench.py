"""One bus compressor tried at several settings on a loop of a song, each turning the snare down by the same."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.audio.clip import Clip
from trainer.decisions.compressor_settings import CORNERS_HZ, RELEASES_MS, TOOL, On, SettingGrid, SettingTried
from trainer.dsp.dynamics.coarse_trace import CoarseTrace
from trainer.dsp.dynamics.compressor_settings import read_compression
from trainer.dsp.dynamics.solving import Reading, find_near, put_right
from trainer.dsp.move import complete_settings
from trainer.dsp.moves import MOVES
from trainer.errors import NotReachable
from trainer.measure.beat import Flags, Strokes, find_strokes, measure_at_hits, measure_movement
from trainer.measure.hits import FRAME_S
from trainer.measure.reduction import Reduction, measure_reduction
from trainer.measure.roughness import find_held_bass, measure_roughness_db

# A snare that is turned down by less steers nothing: then all hits are compared.
LEAST_DB = 0.3
FEWEST_BEATS = 4


@dataclass(frozen=True)
class Bench:
    """Hold a loop, a compressor, and by how much every setting of it turns down the same hits.

    Parameters
    ----------
    loop : Clip
        As it comes to the compressor.
    settings : dict of str to float
        Complete; threshold, release and side-chain are what is tried.
    strokes : Strokes
        Of the loop.
    held_bass : ndarray of bool, shape (steps of 10 ms,)
        Where bass is held.
    on : str
        ``snare`` or ``hits``.
    reduction_db : float
        On these, by the settings themselves, or as asked.
    """

    loop: Clip
    settings: dict[str, float]
    strokes: Strokes
    held_bass: Flags
    on: On
    reduction_db: float

    @property
    def hits(self) -> Flags:
        """Where all settings turn down alike."""
        return self.strokes.snares if self.on == "snare" else self.strokes.beats


def lay_bench(loop: Clip, settings: Mapping[str, float], reduction_db: float | None = None) -> Bench:
    """Measure how far a compressor turns down the snare of a loop: what other settings of it are brought to.

    Parameters
    ----------
    loop : Clip
        As it comes to the compressor.
    settings : mapping of str to float
        Of the compressor.
    reduction_db : float, optional
        What to bring all settings to instead, dB, above 0.

    Returns
    -------
    Bench

    Raises
    ------
    NotReachable
        If the loop has no hits, or the settings turn nothing down.
    """
    full = complete_settings(MOVES[TOOL], settings)
    strokes = find_strokes(loop.samples, loop.rate_hz)
    if not strokes.beats.any():
        raise NotReachable("set the release: hits=0, expected drums on the loud stretch")
    reduction = _reduce(loop, MOVES[TOOL].render(loop, full))
    on_snare, on_hits = (measure_at_hits(reduction, hits) for hits in (strokes.snares, strokes.beats))
    on: On = "snare" if (on_snare or 0.0) >= LEAST_DB else "hits"
    shown = float((on_snare if on == "snare" else on_hits) or 0.0)
    if shown < LEAST_DB:
        raise NotReachable(f"set the release: reduction_on_hits_db={shown:.2f}, expected {LEAST_DB:g} dB or more")
    held = find_held_bass(loop.samples, loop.rate_hz)
    return Bench(loop, full, strokes, held, on, shown if reduction_db is None else reduction_db)


def try_row(
    bench: Bench, corner_hz: float, releases_ms: tuple[float, ...] = RELEASES_MS
) -> Iterator[tuple[SettingTried, Clip]]:
    """Solve, render and measure a row of releases behind one side-chain filter.

    Parameters
    ----------
    bench : Bench
        The loop and the reduction.
    corner_hz : float
        Of the side-chain's high-pass; 0 for none.
    releases_ms : tuple of float
        Releases, rising.

    Yields
    ------
    SettingTried, Clip
        What a setting measures, and the loop with it, not matched.

    Raises
    ------
    NotReachable
        If the reduction cannot be had within 0.05 dB.
    """
    row = bench.settings | {"side_chain_hz": corner_hz}
    trace = CoarseTrace(bench.loop, read_compression(row | {"release_ms": max(releases_ms)}))
    for release_ms in releases_ms:
        settings, after, reduction = _solve(bench, trace, row | {"release_ms": release_ms})
        row |= {"threshold_dbfs": settings["threshold_dbfs"]}
        yield _read(bench, settings, reduction), after


def try_grid(
    bench: Bench,
    releases_ms: tuple[float, ...] = RELEASES_MS,
    corners_hz: tuple[float, ...] = CORNERS_HZ,
    tell: Callable[[float], None] = lambda share: None,
) -> tuple[SettingGrid, tuple[Clip, ...]]:
    """Try every release behind every side-chain filter.

    Parameters
    ----------
    bench : Bench
        The loop and the reduction.
    releases_ms, corners_hz : tuple of float
        What is tried, both rising.
    tell : callable
        Is told how much of the work is done, 0 to 1.

    Returns
    -------
    SettingGrid, tuple of Clip
        What all measure, and the loops, in the same order.

    Raises
    ------
    NotReachable
        As `try_row`.
    """
    found: list[tuple[SettingTried, Clip]] = []
    for corner_hz in corners_hz:
        for each in try_row(bench, corner_hz, releases_ms):
            found.append(each)
            tell(len(found) / (len(releases_ms) * len(corners_hz)))
    grid = SettingGrid(
        releases_ms,
        corners_hz,
        tuple(tried for tried, _ in found),
        bench.on,
        bench.reduction_db,
        FRAME_S,
        _place(bench.strokes.snares),
        _place(bench.strokes.kicks),
    )
    return grid, tuple(after for _, after in found)


def find_gap_ms(strokes: Strokes) -> float | None:
    """Give the usual time from one beat to the next, ms; None with fewer than four beats."""
    places = np.flatnonzero(strokes.beats)
    return float(np.median(np.diff(places)) * FRAME_S * 1000) if places.size >= FEWEST_BEATS else None


def _solve(bench: Bench, trace: CoarseTrace, full: dict[str, float]) -> tuple[dict[str, float], Clip, Reduction]:
    """Find the threshold at which the rendered loop shows the reduction, beginning from the one of its neighbour."""
    rendered: dict[float, tuple[Clip, Reduction]] = {}

    def ask(asked: Reading) -> dict[str, float]:
        def effect(threshold_dbfs: float) -> float:
            tried = read_compression(full | {"threshold_dbfs": threshold_dbfs})
            return float(measure_at_hits(trace.reduce(tried), bench.hits) or 0.0)

        return full | {"threshold_dbfs": find_near(effect, float(asked[0]), full["threshold_dbfs"])}

    def read(tried: dict[str, float]) -> tuple[float]:
        after = MOVES[TOOL].render(bench.loop, tried)
        reduction = _reduce(bench.loop, after)
        rendered[tried["threshold_dbfs"]] = after, reduction
        return (float(measure_at_hits(reduction, bench.hits) or 0.0),)

    settings = complete_settings(MOVES[TOOL], put_right(ask, read, (bench.reduction_db,), "set the release"))
    return settings, *rendered[settings["threshold_dbfs"]]


def _read(bench: Bench, settings: dict[str, float], reduction: Reduction) -> SettingTried:
    """Measure what a setting did, from the gain of the rendered loop."""
    return SettingTried(
        settings,
        float(measure_at_hits(reduction, bench.hits) or 0.0),
        measure_at_hits(reduction, bench.strokes.kicks),
        reduction.on_hits_db,
        reduction.mean_db,
        measure_movement(reduction, bench.strokes.beats).recovery_percent,
        measure_roughness_db(reduction, bench.held_bass),
        _thin_out(reduction),
    )


def _reduce(loop: Clip, after: Clip) -> Reduction:
    return measure_reduction(loop.samples, after.samples, loop.rate_hz, 1.0)


def _thin_out(reduction: Reduction) -> tuple[float, ...]:
    """Average the reduction over steps of 10 ms."""
    size = round(FRAME_S / reduction.step_s)
    values: npt.NDArray[np.float64] = reduction.reduction_db[: reduction.reduction_db.size // size * size]
    return tuple(values.reshape(-1, size).mean(axis=1).tolist())


def _place(hits: Flags) -> tuple[float, ...]:
    """Give the times of hits, s."""
    return tuple((np.flatnonzero(hits) * FRAME_S).tolist())
