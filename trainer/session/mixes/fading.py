"""A fade that is tried at one end of a song: what it is, what is heard of it, and whether it begins on a bar line."""

from __future__ import annotations

from dataclasses import dataclass, replace

from trainer.decisions.fade_steps import Bars, put_on_bar, step_length
from trainer.decisions.mix_jobs import EdgeHeard
from trainer.decisions.sheet import Fades
from trainer.decisions.song_edges import Edge


@dataclass(frozen=True)
class Fading:
    """Hold a fade that is tried; changed by replacement.

    Parameters
    ----------
    edge : str
        ``head`` or ``tail``.
    tried : Fades
        Both ends; that of ``edge`` is changed here.
    heard : EdgeHeard or None
        What is heard now; it may be of the fade before, while the next is made.
    on_bar : bool
        Whether a fade-out begins on a bar line.
    """

    edge: Edge
    tried: Fades
    heard: EdgeHeard | None = None
    on_bar: bool = False

    @property
    def working(self) -> bool:
        """Whether the fade that is tried is still being made."""
        return self.heard is None or self.heard.fades != self.tried or self.heard.edge != self.edge

    def step(self, step: int, duration_s: float, bars: Bars | None) -> Fading:
        """Make the fade longer (1) or shorter (−1) by a step."""
        return replace(self, tried=step_length(self.tried, self.edge, step, duration_s, bars if self.on_bar else None))

    def switch_bar(self, duration_s: float, bars: Bars | None) -> Fading:
        """Let the fade-out begin on a bar line, or anywhere again."""
        if bars is None:
            return self
        tried = self.tried if self.on_bar else put_on_bar(self.tried, duration_s, bars)
        return replace(self, on_bar=not self.on_bar, tried=tried)
