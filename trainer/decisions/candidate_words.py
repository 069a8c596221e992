"""Candidates in words: what the move is, in the terms of the trade, and what became of it."""

from __future__ import annotations

from trainer.decisions.sheet import Candidate
from trainer.dsp.moves import MOVES
from trainer.units import write_amount, write_frequency, write_number

VERDICT_WORDS = {
    "untried": "not yet weighed",
    "keep": "preferred with it",
    "leave": "preferred without it",
    "not_settled": "not settled",
    "below_hearing": "not told apart: below your hearing today",
    "no_harm": "does no harm",
    "harm": "can be told: it does harm",
}
DECISION_WORDS = {"open": "open", "keep": "kept", "leave": "left out", "mix": "goes back to the mix"}
# What names a move's place, in the order in which the trade says it.
PLACES = ("corner_hz", "centre_hz", "pivot_hz", "cutoff_hz", "mono_corner_hz")
GAINS = {
    "low_shelf": "gain_db",
    "high_shelf": "gain_db",
    "bell": "centre_gain_db",
    "tilt": "tilt_db",
    "width": "side_gain_db",
}


def name_move(candidate: Candidate) -> str:
    """Name the kind of a move: ``Low shelf``."""
    return MOVES[candidate.move].title


def title_candidate(candidate: Candidate) -> str:
    """Name a move with its place and its size: ``Low shelf, 110 Hz, −1.0 dB``."""
    parts = [name_move(candidate)]
    parts += [write_frequency(candidate.settings[name]) for name in PLACES if name in candidate.settings][:1]
    if candidate.move in GAINS:
        parts.append(f"{write_number(candidate.settings[GAINS[candidate.move]], 1, True)} dB")
        if "bell_q" in candidate.settings:
            parts.append(f"Q {write_amount(candidate.settings['bell_q'])}")
    elif candidate.move == "high_pass":
        parts.append(f"{write_number(candidate.settings['slope_per_octave_db'], 0)} dB per octave")
    else:
        unit = "%" if candidate.unit == "percent" else candidate.unit
        parts.append(f"{write_amount(candidate.amount)} {unit}")
    if candidate.move == "compressor":
        parts.append(f"release {write_number(candidate.settings['release_ms'], 0)} ms")
        if candidate.settings.get("side_chain_hz"):
            parts.append(f"side-chain {write_frequency(candidate.settings['side_chain_hz'])}")
    return ", ".join(parts)


def describe_state(candidate: Candidate) -> str:
    """Say what the ear said and what was decided."""
    verdict = VERDICT_WORDS[candidate.verdict]
    return verdict if candidate.decision == "open" else f"{DECISION_WORDS[candidate.decision]} · {verdict}"
