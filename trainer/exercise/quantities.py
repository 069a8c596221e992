"""Words, unit and digits of every setting and every measured quantity."""

from __future__ import annotations

from trainer.units import write_number

# Name: words for people, unit, digits, whether a plus sign is written.
QUANTITIES: dict[str, tuple[str, str, int, bool]] = {
    "gain_db": ("gain of the plateau", "dB", 2, True),
    "corner_hz": ("corner, half of the gain", "Hz", 0, False),
    "gain_at_corner_db": ("gain at the corner", "dB", 2, True),
    "gain_at_16_khz_db": ("gain at 16 kHz", "dB", 2, True),
    "level_change_db": ("everything else, after matching", "dB", 2, True),
    "worst_deviation_db": ("largest distance from the curve", "dB", 3, False),
    "reduction_on_hits_db": ("reduction on the loudest hits", "dB", 2, False),
    "reduction_mean_db": ("reduction, mean", "dB", 2, False),
    "reduction_95th_percentile_db": ("reduction, 95th percentile", "dB", 2, False),
    "hits_over_song_before_db": ("loudest hits over the song, without", "dB", 1, True),
    "hits_over_song_after_db": ("loudest hits over the song, with", "dB", 1, True),
    "drive_db": ("drive into the ceiling", "dB", 2, True),
    "ceiling_dbtp": ("ceiling", "dBTP", 1, True),
    "release_ms": ("release", "ms", 0, False),
    "slow_release_ms": ("slow release", "ms", 0, False),
}


def describe_quantity(name: str, value: float) -> tuple[str, str]:
    """Name a quantity and write its value with its unit."""
    words, unit, digits, signed = QUANTITIES.get(name, (name.replace("_", " "), "", 2, False))
    return words, f"{write_number(value, digits, signed)} {unit}".rstrip()


def compare_quantity(name: str, asked: float, measured: float) -> str:
    """Say in one line what was asked for and what the sound shows."""
    words, wished = describe_quantity(name, asked)
    return f"{words[0].upper()}{words[1:]}: {wished} asked for, {describe_quantity(name, measured)[1]} measured."
