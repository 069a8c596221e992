"""The form of a sound file, as its head states it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class FileForm:
    """Say what a sound file is.

    Parameters
    ----------
    file : str
        Its path as it was named.
    format : str
        ``WAV``, ``FLAC``, ``AIFF``, ``OGG``, ``MP3``.
    encoding : str
        How samples are written: ``PCM_24``, ``FLOAT``, ``VORBIS``.
    sample_rate_hz, channels, frames : int
        Rate; 1 or 2; length.
    bit_depth : int or None
        Bits of a sample; None where coding keeps none.
    notes : tuple of str
        What is odd about the file, a line each.
    """

    file: str
    format: str
    encoding: str
    sample_rate_hz: int
    channels: int
    frames: int
    bit_depth: int | None
    notes: tuple[str, ...] = ()

    @property
    def duration_s(self) -> float:
        """Length, s."""
        return self.frames / self.sample_rate_hz

    @property
    def floating(self) -> bool:
        """Tell whether samples are floating point, without a ceiling and without steps."""
        return self.encoding in ("FLOAT", "DOUBLE")

    @property
    def step(self) -> float:
        """Height of one quantising step; 0 where there are none that matter."""
        whole = self.encoding.startswith("PCM") and self.bit_depth is not None and self.bit_depth <= 24
        return 2.0 ** (1 - self.bit_depth) if whole and self.bit_depth else 0.0
