"""A start for bus compression on a song: a decibel or two on the loud hits, back before the next one."""

from __future__ import annotations

from dataclasses import replace

from trainer.decisions.compressor_bench import find_gap_ms, lay_bench, try_row
from trainer.decisions.compressor_settings import (
    KICK_OVER_SNARE_DB,
    RELEASES_MS,
    STEM,
    TOOL,
    SettingGrid,
    SettingTried,
)
from trainer.decisions.intake import LIMITED_DYNAMICS_DB
from trainer.decisions.sheet import Candidate
from trainer.decisions.sweetening_ground import Ground
from trainer.dsp.moves import MOVES
from trainer.errors import NotReachable
from trainer.measure.beat import Strokes, find_strokes, measure_at_hits
from trainer.measure.compression import measure_compression
from trainer.measure.hits import find_loudest_hits, measure_hits_over_song
from trainer.measure.reduction import measure_reduction
from trainer.units import write_number

# Common practice, no source: so much on the loud hits holds parts together; the attack lets the front of a hit through.
AMOUNT_DB, RATIO_TO_1, ATTACK_MS = 1.5, 2.0, 30.0
# A release to look with for what steers.
BEGIN_MS = 120.0
# The side-chain filter where the kick is turned down by more than the snare.
SIDE_CHAIN_HZ = 100.0


def propose_compression(ground: Ground) -> Candidate:
    """Propose bus compression.

    Parameters
    ----------
    ground : Ground
        The song behind its kept moves.

    Returns
    -------
    Candidate
        Results are those of the whole song: reduction on hits and on average, recovery, roughness on held bass; with
        them the releases that fit on the loud stretch. The reason states what was measured there.

    Raises
    ------
    NotReachable
        With the reason why it makes no sense on this song.
    """
    dynamics = ground.evidence.programme.dynamics.short_term_dynamics_db
    if dynamics is not None and dynamics < LIMITED_DYNAMICS_DB:
        raise NotReachable(
            f"Peaks stand only {write_number(dynamics)} dB over the short-term loudness: it is dense already."
        )
    strokes = find_strokes(ground.loop.samples, ground.loop.rate_hz)
    gap_ms = find_gap_ms(strokes)
    if gap_ms is None:
        raise NotReachable("The loudest stretch has no beat that a release could follow.")
    settings = _solve(ground, BEGIN_MS, 0.0)
    lead_db = _lead_of_kick(ground, settings, strokes)
    filtered = lead_db > KICK_OVER_SNARE_DB
    if filtered:
        settings = _solve(ground, BEGIN_MS, SIDE_CHAIN_HZ)
    grid = _try_releases(ground, settings)
    chosen = choose_release(grid)
    settings = _solve(ground, chosen.release_ms, chosen.corner_hz)
    words = (
        _word_hits(ground, settings, gap_ms),
        _word_window(grid, chosen),
        _word_filter(lead_db) if filtered else "",
    )
    made = ground.make_candidate(STEM, TOOL, AMOUNT_DB, settings, " ".join(each for each in words if each))
    window = grid.measure_window(chosen.corner_hz)
    return replace(made, results={**made.results, **window}, note=_note_movement(made, grid))


def choose_release(grid: SettingGrid) -> SettingTried:
    """Choose the slowest release of a row that fits, for it moves least; where none fits, what gives most back."""
    fitting = grid.list_fitting(grid.corners_hz[0])
    return fitting[-1] if fitting else max(grid.tried, key=lambda each: each.back_percent or 0.0)


def _solve(ground: Ground, release_ms: float, side_chain_hz: float) -> dict[str, float]:
    """Find the threshold for the usual amount on the loudest hits."""
    asked = {
        "ratio_to_1": RATIO_TO_1, "attack_ms": ATTACK_MS, "release_ms": release_ms, "side_chain_hz": side_chain_hz,
    }  # fmt: skip
    return ground.solve(TOOL, AMOUNT_DB, asked)


def _try_releases(ground: Ground, settings: dict[str, float]) -> SettingGrid:
    """Try all releases behind the filter of some settings."""
    bench, corner_hz = lay_bench(ground.loop, settings), settings["side_chain_hz"]
    tried = tuple(each for each, _ in try_row(bench, corner_hz))
    return SettingGrid(RELEASES_MS, (corner_hz,), tried, bench.on, bench.reduction_db)


def _lead_of_kick(ground: Ground, settings: dict[str, float], strokes: Strokes) -> float:
    """Measure by how much more the kick is turned down than the snare, dB; 0 where one of them is missing."""
    after = MOVES[TOOL].render(ground.loop, settings)
    reduction = measure_reduction(ground.loop.samples, after.samples, ground.loop.rate_hz, 1.0)
    kick, snare = (measure_at_hits(reduction, hits) for hits in (strokes.kicks, strokes.snares))
    return 0.0 if kick is None or snare is None else kick - snare


def _word_hits(ground: Ground, settings: dict[str, float], gap_ms: float) -> str:
    """Say how far the loudest hits stand out, what is taken off them, and what comes back."""
    loop = ground.loop
    after = MOVES[TOOL].render(loop, settings)
    read = measure_compression(loop.samples, after.samples, loop.rate_hz, 1.0).quantities
    over_db = measure_hits_over_song(loop.samples, loop.rate_hz, find_loudest_hits(loop.samples, loop.rate_hz)) or 0.0
    words = (
        f"On the loud stretch the loudest hits stand {write_number(over_db)} dB over the song; "
        f"{write_number(read['reduction_on_hits_db'])} dB off them, {write_number(read['reduction_mean_db'])} dB over "
        f"time, may hold the parts together. Hits come every {write_number(gap_ms, 0)} ms"
    )
    back = read.get("recovery_between_hits_percent")
    if back is None:
        return f"{words}."
    release = write_number(settings["release_ms"], 0)
    return f"{words}: with a release of {release} ms {write_number(back, 0)} % of the gain is back before the next one."


def _word_window(grid: SettingGrid, chosen: SettingTried) -> str:
    """Say from which releases this one was chosen."""
    fitting = [write_number(each.release_ms, 0) for each in grid.list_fitting(chosen.corner_hz)]
    if not fitting:
        return "No release gives enough back and leaves the bass smooth; with this one most comes back."
    if len(fitting) == 1:
        return "Of the releases tried only this one fits."
    return f"Releases from {fitting[0]} to {fitting[-1]} ms fit; this is the slowest of them."


def _word_filter(lead_db: float) -> str:
    """Say what the side-chain filter is for."""
    return (
        f"Without a filter the kick would be turned down {write_number(lead_db)} dB more than the snare: a side-chain "
        f"high-pass at {write_number(SIDE_CHAIN_HZ, 0)} Hz keeps it from steering."
    )


def _note_movement(candidate: Candidate, grid: SettingGrid) -> str:
    """Say what to listen for where the whole song shows another thing than the loop."""
    back = candidate.results.get("recovery_between_hits_percent")
    if back is not None and back < grid.find_wished_percent(grid.corners_hz[0]) / 2:
        return f"over the whole song only {write_number(back, 0)} % comes back: listen for being held down"
    return ""
