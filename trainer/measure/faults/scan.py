"""The whole fault scan, in one pass over a file's blocks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.measure.faults.clicks import ClickScanner
from trainer.measure.faults.clipping import ClippingScanner
from trainer.measure.faults.dropouts import DropoutScanner
from trainer.measure.faults.edges import EdgeMeter, Edges
from trainer.measure.faults.finding import Finding, join_findings
from trainer.measure.faults.overs import find_overs
from trainer.measure.faults.pops import PopScanner
from trainer.measure.faults.steady import HissMeter, find_hum, find_offset
from trainer.measure.programme import Programme, ProgrammeMeter
from trainer.measure.steps import block_frames

EDGE_S = 0.004
# The corners of flat tops click no louder than this.
CORNER_DB = 20.0


@dataclass(frozen=True)
class Scan:
    """Hold what a fault scan found: faults in the order of their places, and the edges."""

    faults: tuple[Finding, ...]
    edges: Edges


class FaultScanner:
    """Look for faults block by block.

    Parameters
    ----------
    rate_hz, channels : int
        Of the file.
    step : float
        Height of its quantising steps; 0 for floating point and coded files.
    """

    def __init__(self, rate_hz: int, channels: int, step: float = 0.0) -> None:
        self._clicks = ClickScanner(rate_hz, channels)
        self._clipping = ClippingScanner(rate_hz, channels, step)
        self._dropouts = DropoutScanner(rate_hz, channels)
        self._pops = PopScanner(rate_hz)
        self._hiss = HissMeter(rate_hz, channels)
        self._edges = EdgeMeter(rate_hz)

    def add(self, block: npt.NDArray[np.float32]) -> None:
        """Take the next block, shape (channels, frames): whole 5 s, save the last."""
        for scanner in (self._clicks, self._clipping, self._dropouts, self._pops, self._hiss, self._edges):
            scanner.add(block)

    def finish(self, programme: Programme) -> Scan:
        """Give all that was found, with the measurements of the same file."""
        length_s, channels = programme.duration_s, programme.channels
        edges, cuts = self._edges.finish(programme.loudness, channels)
        dropouts, runs = self._dropouts.finish(), self._clipping.finish()
        found = (
            *(click for click in self._clicks.finish(length_s) if not _is_part(click, dropouts, runs)),
            *runs,
            *dropouts,
            *self._pops.finish(channels),
            *join_findings(self._hiss.finish(length_s), 0.0),
            *join_findings(find_hum(programme.spectrum, length_s, channels), 0.0),
            *join_findings(find_offset(programme.peaks, length_s), 0.0),
            *find_overs(programme.peaks),
            *cuts,
        )
        return Scan(tuple(sorted(found, key=lambda finding: (finding.start_s, finding.kind))), edges)


def _is_part(click: Finding, dropouts: tuple[Finding, ...], runs: tuple[Finding, ...]) -> bool:
    """Tell whether a click is the edge of a hole or the corner of a flat top, and said with it."""
    at_s = click.start_s
    edges = (edge for hole in dropouts for edge in (hole.start_s, hole.end_s))
    if any(abs(at_s - edge) < EDGE_S for edge in edges):
        return True
    corner = any(run.start_s - EDGE_S < at_s < run.end_s + EDGE_S for run in runs)
    return corner and click.strength < CORNER_DB


def scan_faults(samples: npt.NDArray[np.floating], rate_hz: int, step: float = 0.0) -> tuple[Programme, Scan]:
    """Measure a whole sound, shape (frames, channels), and look for faults; as `FaultScanner`."""
    meter, scanner = ProgrammeMeter(rate_hz, samples.shape[1]), FaultScanner(rate_hz, samples.shape[1], step)
    length = block_frames(rate_hz)
    for first in range(0, max(samples.shape[0], 1), length):
        block = np.ascontiguousarray(samples[first : first + length].T, dtype=np.float32)
        meter.add(block)
        scanner.add(block)
    programme = meter.finish()
    return programme, scanner.finish(programme)
