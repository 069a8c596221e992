"""Decibels as a factor, and the way numbers are written for people."""

from __future__ import annotations

import math

MINUS = "\u2212"


def db_to_gain(level_db: float) -> float:
    """Convert a level in dB to an amplitude factor."""
    return float(10.0 ** (level_db / 20.0))


def begin_large(words: str) -> str:
    """Begin words with a capital letter; the rest stays as it is."""
    return words[:1].upper() + words[1:]


def begin_small(words: str) -> str:
    """Begin words with a small letter, unless the first of them is ``I`` or stands in capitals: ``LUFS``."""
    first = words.split(" ", 1)[0]
    return words if first == "I" or (len(first) > 1 and first.isupper()) else words[:1].lower() + words[1:]


def write_number(value: float, digits: int = 1, signed: bool = False) -> str:
    """Write a number for a person: fixed decimals, a real minus sign, no negative zero."""
    if not math.isfinite(value):
        return f"{MINUS}∞" if value < 0 else "∞" if value > 0 else "–"
    text = f"{value:+.{digits}f}" if signed else f"{value:.{digits}f}"
    if float(text) == 0.0:
        text = text.lstrip("+-")
    return text.replace("-", MINUS)


def write_amount(value: float, signed: bool = False) -> str:
    """Write an amount to two significant figures, as an estimate deserves, and 0.05 steps at most."""
    if value == 0 or not math.isfinite(value):
        return write_number(value, 1, signed)
    size = abs(value)
    digits = 0 if size >= 9.95 else 1 if size >= 0.995 else 2
    return write_number(value, digits, signed)


def write_probability(value: float) -> str:
    """Write a probability to two figures that count: ``0.39``, ``0.04``, ``0.003``, or that it is less than 0.001."""
    if value < 0.001:
        return "less than 0.001"
    return write_number(value, 2 if value >= 0.0995 else 3)


def write_spread(spread_lu: float) -> str:
    """Write within what versions are equally loud: no finer than a meter is read."""
    return f"{write_number(max(0.01, spread_lu), 2)} LU"


def write_range(low: float, high: float, unit: str) -> str:
    """Write an interval with its unit: ``1.1–2.2 dB``."""
    return f"{write_amount(low)}–{write_amount(high)} {unit}".rstrip()


def write_time(time_s: float) -> str:
    """Write a place in a song as minutes and seconds: ``0:41``."""
    whole = int(time_s)
    return f"{whole // 60}:{whole % 60:02d}"


def write_moment(time_s: float) -> str:
    """Write a place in a song to the hundredth: ``0.40 s``, ``2:58.00``."""
    hundredths = round(time_s * 100)
    if hundredths < 6000:
        return f"{hundredths / 100:.2f} s"
    return f"{hundredths // 6000}:{hundredths % 6000 / 100:05.2f}"


def write_frequency(frequency_hz: float) -> str:
    """Write a frequency: ``315 Hz``, ``8 kHz``, ``12.5 kHz``."""
    if frequency_hz < 1000:
        return f"{frequency_hz:.0f} Hz"
    return f"{frequency_hz / 1000:.3g} kHz"
