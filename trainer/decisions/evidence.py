"""Everything that is known of a file when it is judged."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from trainer.audio.clip import Clip
from trainer.audio.file_form import FileForm
from trainer.decisions.facts import list_facts
from trainer.measure.faults.scan import Scan
from trainer.measure.programme import Programme

CodeAndDecode = Callable[[Clip, str, float], Clip]


@dataclass(frozen=True)
class CodedPeak:
    """True peak, dBTP, of the loudest part of a file after coding; None where it could not be coded."""

    codec: str
    kbps: int
    true_peak_dbtp: float | None


@dataclass(frozen=True)
class Evidence:
    """Hold a file's form, measurements, faults, and what coding does to its peaks.

    Parameters
    ----------
    form : FileForm
        What its head says.
    programme : Programme
        What was measured.
    scan : Scan
        Faults and edges.
    coded : tuple of CodedPeak
        Empty where coding was not tried.
    coded_note : str
        Why, or on which part.
    """

    form: FileForm
    programme: Programme
    scan: Scan
    coded: tuple[CodedPeak, ...] = ()
    coded_note: str = ""

    def count(self, kind: str) -> int:
        """Count the findings of a kind."""
        return sum(finding.kind == kind for finding in self.scan.faults)


def list_evidence(evidence: Evidence) -> dict[str, Any]:
    """List the evidence as plain facts: those of the measurement, faults, edges, coded peaks."""
    facts = list_facts(evidence.form, evidence.programme)
    notes = facts.pop("notes") + ([evidence.coded_note] if evidence.coded_note else [])
    edges = evidence.scan.edges
    return facts | {
        "faults": [
            {
                "kind": finding.kind,
                "start_s": round(finding.start_s, 5),
                "end_s": round(finding.end_s, 5),
                "channel": finding.channel,
                "strength": round(finding.strength, 2),
                "unit": finding.unit,
            }
            for finding in evidence.scan.faults
        ],
        "edges": {
            name: None if value is None else round(value, 4)
            for name, value in (
                ("head_silence_s", edges.head_silence_s),
                ("tail_silence_s", edges.tail_silence_s),
                ("tail_decay_s", edges.tail_decay_s),
            )
        },
        "coded": [
            {
                "codec": peak.codec,
                "kbps": peak.kbps,
                "true_peak_dbtp": None if peak.true_peak_dbtp is None else round(peak.true_peak_dbtp, 2),
            }
            for peak in evidence.coded
        ],
        "notes": notes,
    }
