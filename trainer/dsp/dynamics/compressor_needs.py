"""What a stretch must hold for a compressor to be heard; all of it common practice, no source."""

from __future__ import annotations

from trainer.dsp.move import Need
from trainer.measure.contents import StretchContents
from trainer.units import write_number

LEAST_HITS_PER_S = 0.7
LEAST_KICKS_PER_S = 0.4
LEAST_SNARES_PER_S = 0.4
LEAST_PEAK_OVER_RMS_DB = 9.0
# Sharper hits than a compressor needs otherwise, for its attack to be heard.
SHARP_PEAK_OVER_RMS_DB = 10.5
SOFTEST_GAP_DB = -20.0


def need_hits(contents: StretchContents, peak_over_rms_db: float = LEAST_PEAK_OVER_RMS_DB) -> tuple[Need, ...]:
    """Ask for drum hits that stand out."""
    return (
        Need("hits_per_s", contents.hits_per_s, LEAST_HITS_PER_S, f"{LEAST_HITS_PER_S:g} drum hits a second or more"),
        Need(
            "peak_over_rms_db",
            contents.peak_over_rms_db,
            peak_over_rms_db,
            f"{peak_over_rms_db:g} dB or more: hits that stand out",
        ),
    )


def need_beat(contents: StretchContents) -> tuple[Need, ...]:
    """Ask for a beat: low or bright hits."""
    beat = max(contents.hits_per_s, contents.kicks_per_s)
    return (Need("beats_per_s", beat, LEAST_HITS_PER_S, f"{LEAST_HITS_PER_S:g} beats a second or more"),)


def need_gaps(contents: StretchContents) -> tuple[Need, ...]:
    """Ask for sound between the hits, in which the gain is heard to come back, or to stay away."""
    expected = f"{write_number(SOFTEST_GAP_DB, 0)} or more: sound that goes on between the hits"
    return (Need("gap_db", contents.gap_db, SOFTEST_GAP_DB, expected),)


def need_kick_and_snare(contents: StretchContents) -> tuple[Need, ...]:
    """Ask for kick and snare, and something that goes on."""
    return (
        Need(
            "kicks_per_s", contents.kicks_per_s, LEAST_KICKS_PER_S, f"{LEAST_KICKS_PER_S:g} low hits a second or more"
        ),
        Need(
            "hits_per_s", contents.hits_per_s, LEAST_SNARES_PER_S, f"{LEAST_SNARES_PER_S:g} drum hits a second or more"
        ),
        *need_gaps(contents),
    )
