"""Versions of one master in sentences: the same gain, length and place, or what is off and by how much."""

from __future__ import annotations

from typing import Any

from trainer.measure.residual import LOWEST_DB
from trainer.units import write_number

# So far under the master nothing but dither is left of a sum; common practice, no source.
ADDS_UP_DB = -60.0
LEAST_ERROR_DB = 0.01


def word_version_check(facts: dict[str, Any]) -> list[str]:
    """Word a check of versions, as `list_version_check` gives it.

    Parameters
    ----------
    facts : dict
        The facts.

    Returns
    -------
    list of str
        A headline for each version, and what is off, indented.
    """
    main = facts["main_name"]
    lines = [f"Versions of {facts['main']}:"]
    for found in facts["versions"]:
        lines.append(f"{found['file']}:")
        lines += [f"  {line}" for line in word_version(found, facts, main)]
    return lines + [line for found in facts["sums"] for line in word_sum(found, main)]


def word_version(found: dict[str, Any], facts: dict[str, Any], main: str) -> list[str]:
    """Say how one version lies against the main master."""
    rate_hz = facts["sample_rate_hz"]
    off = [
        *_word_offset(found["offset_samples"], rate_hz),
        *_word_length(found["length_difference_samples"], rate_hz),
        *_word_rate(found["sample_rate_hz"], rate_hz),
        *(["Upside down."] if found["polarity"] < 0 else []),
        *_word_gain(found),
    ]
    if not off:
        off = [f"Same gain, length and sync as {main}."]
    return [*off, *_word_ground(found)]


def word_sum(found: dict[str, Any], main: str) -> list[str]:
    """Say whether two versions add up to the main master."""
    both = " and ".join(found["names"])
    plain, right = found["residual_db"], found["residual_at_gains_db"]
    if plain <= ADDS_UP_DB:
        rest = "nothing is left" if plain <= LOWEST_DB else f"what is left lies {_write_under(plain)} under it"
        return [f"{both}, in step, add up to {main}: {rest}."]
    first = f"{both}, in step, do not add up to {main}: what is left lies {_write_under(plain)} under it"
    if right < plain - 3:
        return [f"{first}, {_write_under(right)} with their gains put right."]
    return [f"{first}."]


def _write_under(level_db: float) -> str:
    return f"{write_number(-level_db, 0)} dB"


def _word_offset(offset: float, rate_hz: int) -> list[str]:
    """Say by how much it begins earlier or later."""
    if offset == 0:
        return []
    size = write_number(abs(offset), 0 if offset == round(offset) else 2)
    time = _write_time(abs(offset) / rate_hz)
    return [f"Begins {size} {_count(size)} ({time}) {'late' if offset > 0 else 'early'}."]


def _word_length(longer: int, rate_hz: int) -> list[str]:
    """Say by how much it is longer or shorter."""
    if not longer:
        return []
    size = str(abs(longer))
    return [f"{size} {_count(size)} ({_write_time(abs(longer) / rate_hz)}) {'longer' if longer > 0 else 'shorter'}."]


def _count(size: str) -> str:
    return "sample" if size == "1" else "samples"


def _word_rate(own_hz: int, rate_hz: int) -> list[str]:
    if own_hz == rate_hz:
        return []
    return [f"At {write_number(own_hz / 1000, 1)} kHz, the main master at {write_number(rate_hz / 1000, 1)} kHz."]


def _word_gain(found: dict[str, Any]) -> list[str]:
    """Say by how much it is louder or softer where both hold the same sound."""
    if found["gain_db"] is None:
        return ["Too little of it sounds alone in the main master to tell its gain."]
    if found["gain_moves"]:
        span = f"between {write_number(found['gain_low_db'], 1)} and {write_number(found['gain_high_db'], 1)} dB"
        most = write_number(found["gain_db"], 1)
        return [
            f"Its gain moves {span}, most often {most} dB: the two were limited or compressed each by itself, so that "
            "no one gain makes them equal."
        ]
    if found["same_gain"]:
        return []
    how = "louder" if found["gain_db"] > 0 else "softer"
    return [f"{write_number(abs(found['gain_db']), 2)} dB {how} where both hold the same sound, {_write_error(found)}."]


def _word_ground(found: dict[str, Any]) -> list[str]:
    """Say how surely the gain is known, and from what."""
    if found["gain_db"] is None or found["gain_moves"]:
        return []
    if found["same_throughout"]:
        return ["The same sound throughout."]
    depth = write_number(-found["shared_residual_db"], 0)
    return [
        f"Gain read {_write_error(found)} from the places where it is all that sounds: the rest lies {depth} dB under "
        "it there."
    ]


def _write_error(found: dict[str, Any]) -> str:
    return f"to within {write_number(max(LEAST_ERROR_DB, found['gain_error_db']), 2)} dB"


def _write_time(time_s: float) -> str:
    return f"{write_number(time_s, 3)} s" if time_s >= 1 else f"{write_number(1000 * time_s, 2)} ms"
