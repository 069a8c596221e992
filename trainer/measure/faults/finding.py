"""What a fault scan reports."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

KINDS = (
    "click", "pop", "clipped_run", "dropout", "hum", "hiss", "dc", "head_noise", "abrupt_start", "abrupt_end",
    "intersample_over",
)  # fmt: skip


@dataclass(frozen=True)
class Finding:
    """One fault.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    start_s, end_s : float
        Where.
    channel : str
        ``left``, ``right``, ``both``; ``mono`` in a file of one channel.
    strength : float
        How strong; what it measures is said where the kind is looked for.
    unit : str
        ``dB``, ``dBFS``, ``dBTP``, ``samples`` or ``ms``.
    """

    kind: str
    start_s: float
    end_s: float
    channel: str
    strength: float
    unit: str


def name_channel(index: int, channels: int) -> str:
    """Name a channel."""
    return "mono" if channels == 1 else ("left", "right")[index]


def join_findings(findings: Iterable[Finding], gap_s: float) -> tuple[Finding, ...]:
    """Join findings of one kind that are nearer than a gap, over both sides; the strongest gives the strength."""
    joined: list[Finding] = []
    for finding in sorted(findings, key=lambda f: f.start_s):
        last = joined[-1] if joined else None
        if last is None or finding.start_s > last.end_s + gap_s:
            joined.append(finding)
            continue
        joined[-1] = replace(
            last,
            end_s=max(last.end_s, finding.end_s),
            channel=last.channel if last.channel == finding.channel else "both",
            strength=max(last.strength, finding.strength),
        )
    return tuple(joined)
