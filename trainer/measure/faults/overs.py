"""Overs: where the wave between the samples goes beyond full scale."""

from __future__ import annotations

import numpy as np

from trainer.measure.faults.finding import Finding, join_findings, name_channel
from trainer.measure.peak_trace import PeakTrace, to_db
from trainer.measure.steps import STEP_S

JOIN_S = 0.1
# Readings of 1.0 by float32 may lie a hair above it.
FULL_SCALE = 1.0 + 1e-4


def find_overs(peaks: PeakTrace) -> tuple[Finding, ...]:
    """Find peaks beyond full scale, those within 100 ms of each other as one; strength is the true peak, dBTP."""
    channels = peaks.true.shape[0]
    found = [
        Finding(
            "intersample_over",
            step * STEP_S,
            (step + 1) * STEP_S,
            name_channel(channel, channels),
            to_db(float(peaks.true[channel, step])),
            "dBTP",
        )
        for channel in range(channels)
        for step in np.flatnonzero(peaks.true[channel] > FULL_SCALE).tolist()
    ]
    return join_findings(found, JOIN_S)
