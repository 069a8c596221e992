"""A start for saturation, top harmonics and width on a song, each only where there is a reason for it."""

from __future__ import annotations

import numpy as np

from trainer.decisions.balance import Comparison
from trainer.decisions.intake import LIMITED_DYNAMICS_DB
from trainer.decisions.sheet import Candidate
from trainer.decisions.sweetening_ground import Ground
from trainer.dsp.stereo.sides import measure_sides
from trainer.errors import NotReachable
from trainer.units import write_frequency, write_number

# Common practice, no source: amounts to begin with. 1 % lies 40 dB below the song.
SATURATION_PERCENT, EVEN_SHARE_PERCENT = 1.0, 30.0
TOP_PERCENT, TOP_CORNER_HZ = 0.4, 4000.0
WIDTH_DB = 1.0
# A top so far below the whole is dull without references; with them, so far below their middle.
DULL_TOP_DB, DULL_BELOW_DB, TOP_BAND, CUT_HZ = -30.0, -1.0, (10000.0, 20000.0), 16000.0
# Sides so far below the middle are narrow without references; with them, so far below theirs. In mono no more than
# this may go already.
NARROW_DB, NARROW_BELOW_DB, WIDTH_FROM_HZ, MOST_LOSS_LU = -8.0, -2.0, 250.0, 2.0


def propose_saturation(ground: Ground) -> Candidate:
    """Propose a little saturation for a clean mix with held notes.

    Raises
    ------
    NotReachable
        With the reason why it makes no sense on this song.
    """
    runs = ground.evidence.count("clipped_run")
    if runs:
        raise NotReachable(f"There are {runs} flat tops in it already: more bending adds to them.")
    dynamics = ground.evidence.programme.dynamics.short_term_dynamics_db
    if dynamics is not None and dynamics < LIMITED_DYNAMICS_DB:
        raise NotReachable(
            f"Peaks stand only {write_number(dynamics)} dB over the short-term loudness: it is full already."
        )
    settings = ground.solve("saturation", SATURATION_PERCENT, {"even_share_percent": EVEN_SHARE_PERCENT})
    reason = (
        "Notes are held, and no tops are flat: overtones 40 dB below the song may make it a little thicker. Listen to "
        "a held bass note and to a vowel."
    )
    return ground.make_candidate("saturation", "saturation", SATURATION_PERCENT, settings, reason)


def propose_top_harmonics(ground: Ground) -> Candidate:
    """Propose overtones of the top for a dull one.

    Raises
    ------
    NotReachable
        With the reason why it makes no sense on this song.
    """
    band = ground.evidence.programme.bandwidth
    if band is not None and band.highest_hz < CUT_HZ:
        raise NotReachable(f"The file ends at {write_frequency(band.highest_hz)}: there is no top to join.")
    reason = _find_dullness(ground)
    settings = ground.solve("top_harmonics", TOP_PERCENT, {"corner_hz": TOP_CORNER_HZ})
    return ground.make_candidate("top_harmonics", "top_harmonics", TOP_PERCENT, settings, reason)


def propose_width(ground: Ground) -> Candidate:
    """Propose a decibel more of the sides for a narrow mix that has some.

    Raises
    ------
    NotReachable
        With the reason why it makes no sense on this song.
    """
    sides = measure_sides(ground.loop)
    if not np.isfinite(sides.side_db):
        raise NotReachable("It has no sides; width cannot make any.")
    if sides.mono_loss_lu > MOST_LOSS_LU:
        raise NotReachable(f"In mono it loses {write_number(sides.mono_loss_lu)} LU already.")
    reason = _find_narrowness(ground, sides.side_over_middle_db)
    settings = ground.solve("width", WIDTH_DB, {"side_gain_db": WIDTH_DB})
    return ground.make_candidate("width", "width", WIDTH_DB, settings, reason, "check on speakers, and in mono")


def _find_dullness(ground: Ground) -> str:
    """Say how dull the top is, or refuse."""
    lean = _read_rows(ground.comparison, "band", 5000.0)
    if lean is not None:
        if lean > DULL_BELOW_DB:
            raise NotReachable(f"Above 5 kHz it is {_word_against(lean, ground.comparison)}: not dull.")
        against = _word_against(lean, ground.comparison)
        return f"Above 5 kHz it is {against}: overtones may add what a shelf could only lift."
    contents = ground.measure("top_harmonics", {"corner_hz": TOP_BAND[0] / 2})
    level = contents.band_db[(TOP_BAND[0] / 2, TOP_BAND[0])]
    if level > DULL_TOP_DB:
        raise NotReachable(
            f"From 5 to 10 kHz it has {write_number(level, 0)} dB against the whole: not dull by itself, and there are "
            "no references."
        )
    return f"From 5 to 10 kHz it has only {write_number(level, 0)} dB against the whole: overtones may add some."


def _find_narrowness(ground: Ground, side_over_middle_db: float) -> str:
    """Say how narrow the mix is, or refuse."""
    lean = _read_rows(ground.comparison, "width", WIDTH_FROM_HZ)
    if lean is not None:
        if lean > NARROW_BELOW_DB:
            raise NotReachable(f"Its sides are {_word_against(lean, ground.comparison)}: not narrow.")
        return f"Its sides are {_word_against(lean, ground.comparison)}."
    level = write_number(side_over_middle_db)
    if side_over_middle_db > NARROW_DB:
        raise NotReachable(f"Its sides lie {level} dB against the middle: not narrow.")
    return f"Its sides lie {level} dB against the middle: narrow, with something there to turn up."


def _read_rows(comparison: Comparison | None, kind: str, from_hz: float) -> float | None:
    """Average the mix against the middle of the references over the bands from a frequency on; None without any."""
    rows = () if comparison is None or not comparison.references else comparison.rows
    values = [
        row.mix_db
        for row in rows
        if row.kind == kind and row.band_hz is not None and row.band_hz[0] >= from_hz and row.mix_db is not None
        if row.middle_db is not None
    ]
    return float(np.mean(values)) if values else None


def _word_against(value_db: float, comparison: Comparison | None) -> str:
    single = comparison is not None and len(comparison.references) == 1
    against = "the reference" if single else "the middle of the references"
    return f"{write_number(abs(value_db))} dB {'above' if value_db > 0 else 'below'} {against}"
