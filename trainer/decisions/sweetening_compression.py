"""A start for bus compression on a song: a decibel or two on the loud hits, back before the next one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from trainer.decisions.intake import LIMITED_DYNAMICS_DB
from trainer.decisions.sheet import Candidate
from trainer.decisions.sweetening_ground import Ground
from trainer.dsp.moves import MOVES
from trainer.errors import NotReachable
from trainer.measure.beat import Strokes, find_strokes, measure_at_hits
from trainer.measure.compression import measure_compression
from trainer.measure.hits import FRAME_S
from trainer.measure.reduction import measure_reduction
from trainer.units import write_number

# Common practice, no source: so much on the loud hits holds parts together; the attack lets the front of a hit through.
AMOUNT_DB, RATIO_TO_1, ATTACK_MS = 1.5, 2.0, 30.0
# Release: a share of the time from hit to hit to begin with, and shorter while too little comes back and the bass
# does not get rough.
BEGIN_SHARE, SHORTER, TRIES, SHORTEST_MS, LONGEST_MS = 0.6, 0.7, 5, 40.0, 400.0
WISHED_BACK_PERCENT, ROUGHEST_DB = 70.0, -40.0
# A side-chain filter where the kick is turned down by so much more than the snare.
KICK_OVER_SNARE_DB, SIDE_CHAIN_HZ = 0.7, 100.0


def propose_compression(ground: Ground) -> Candidate:
    """Propose bus compression.

    Parameters
    ----------
    ground : Ground
        The song behind its kept moves.

    Returns
    -------
    Candidate
        Results are those of the whole song: reduction on hits and on average, recovery, roughness on held bass.

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
    settings, words = _find_release(ground, gap_ms, 0.0)
    lead = _lead_of_kick(ground, settings, strokes)
    if lead > KICK_OVER_SNARE_DB:
        settings, words = _find_release(ground, gap_ms, SIDE_CHAIN_HZ)
        words += (
            f" Without a filter the kick would be turned down {write_number(lead)} dB more than the snare: a "
            f"side-chain high-pass at {write_number(SIDE_CHAIN_HZ, 0)} Hz keeps it from steering."
        )
    reason = f"{write_number(AMOUNT_DB)} dB on the loudest hits may hold the parts together. {words}"
    candidate = ground.make_candidate("bus_compression", "compressor", AMOUNT_DB, settings, reason)
    return replace(candidate, note=_note_movement(candidate))


def find_gap_ms(strokes: Strokes) -> float | None:
    """Give the usual time from one beat to the next, ms; None with fewer than four beats."""
    places = np.flatnonzero(strokes.beats)
    return float(np.median(np.diff(places)) * FRAME_S * 1000) if places.size >= 4 else None


def _find_release(ground: Ground, gap_ms: float, side_chain_hz: float) -> tuple[dict[str, float], str]:
    """Shorten the release until most of the gain is back before the next hit, or the bass would get rough."""
    release_ms = float(np.clip(BEGIN_SHARE * gap_ms, SHORTEST_MS, LONGEST_MS))
    tried: list[tuple[float, dict[str, float]]] = []
    for _ in range(TRIES):
        asked = {
            "ratio_to_1": RATIO_TO_1, "attack_ms": ATTACK_MS, "release_ms": release_ms, "side_chain_hz": side_chain_hz,
        }  # fmt: skip
        settings = ground.solve("compressor", AMOUNT_DB, asked)
        after = MOVES["compressor"].render(ground.loop, settings)
        read = measure_compression(ground.loop.samples, after.samples, ground.loop.rate_hz, 1.0).quantities
        if read.get("roughness_on_bass_db", -np.inf) > ROUGHEST_DB and tried:
            break
        tried.append((read.get("recovery_between_hits_percent", 0.0), settings))
        if tried[-1][0] >= WISHED_BACK_PERCENT or release_ms <= SHORTEST_MS:
            break
        release_ms = max(SHORTEST_MS, release_ms * SHORTER)
    back, settings = tried[-1]
    return settings, (
        f"Hits come every {write_number(gap_ms, 0)} ms; with a release of {write_number(settings['release_ms'], 0)} ms "
        f"{write_number(back, 0)} % of the gain is back before the next one."
    )


def _lead_of_kick(ground: Ground, settings: dict[str, float], strokes: Strokes) -> float:
    """Measure by how much more the kick is turned down than the snare, dB; 0 where one of them is missing."""
    after = MOVES["compressor"].render(ground.loop, settings)
    reduction = measure_reduction(ground.loop.samples, after.samples, ground.loop.rate_hz, 1.0)
    kick, snare = (measure_at_hits(reduction, hits) for hits in (strokes.kicks, strokes.snares))
    return 0.0 if kick is None or snare is None else kick - snare


def _note_movement(candidate: Candidate) -> str:
    """Say what to listen for where the whole song shows another thing than the loop."""
    back = candidate.results.get("recovery_between_hits_percent")
    if back is not None and back < WISHED_BACK_PERCENT / 2:
        return f"over the whole song only {write_number(back, 0)} % comes back: listen for being held down"
    return ""
