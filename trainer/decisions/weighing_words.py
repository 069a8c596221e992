"""A weighing in sentences: what had to be put right, and what differs."""

from __future__ import annotations

from typing import Any

from trainer.decisions.bounce_differences import BandDifference, Difference
from trainer.decisions.bounce_faults import FaultCount
from trainer.decisions.bounces import Bounce
from trainer.decisions.reasons import FAULT_NAMES, NAMES
from trainer.dsp.matching import MatchedLoop
from trainer.measure.residual import LOWEST_DB
from trainer.units import write_amount, write_frequency, write_number, write_spread, write_time

# Smaller differences are in the figures, but not worth a sentence. Common practice, no source.
LEAST_BAND_DB, LEAST_PEAK_DB, LEAST_SIDE_DB, LEAST_SOFTEST_DB = 0.3, 0.3, 0.3, 1.0
LEAST_LEVEL_DB = 0.005
MOST_REGIONS = 3
# What lies so far below the song is not worth one either, nor what next to nobody hears.
FAINT_BAND_DB, SPOKEN_HZ = -50.0, (22.0, 18000.0)


def word_bounce(bounce: Bounce, first: Bounce, matched: MatchedLoop) -> list[str]:
    """Say how a bounce lies against the first, what was put right, and by how much it was turned."""
    place, rate_hz = bounce.alignment, bounce.clip.rate_hz
    lines = [] if bounce is first else [_word_offset(place.offset_frames, rate_hz, first.name)]
    if place.polarity < 0:
        lines.append("Upside down against it; turned back for the comparison.")
    if place.swapped:
        lines.append("Left and right have changed places; put right for the comparison.")
    if place.turned_side:
        lines.append(f"Its {place.turned_side} side alone is upside down. It is left so: look for a crossed cable.")
    if place.drift_ppm:
        lines.append(
            f"Its clock makes it {write_amount(abs(place.drift_ppm))} millionths "
            f"{'longer' if place.drift_ppm > 0 else 'shorter'}; in step at the start of the stretch."
        )
    if place.odd_frames:
        places = ", ".join(write_time(frame / rate_hz) for frame in place.odd_frames)
        lines.append(f"Something else sounds in it around {places} of {first.name}: edited, muted, or another take.")
    if bounce.rate_converted:
        was = write_number(bounce.evidence.form.sample_rate_hz / 1000, 1)
        lines.append(f"At {was} kHz; converted to {write_number(rate_hz / 1000, 1)} kHz for the comparison.")
    level, before = write_number(matched.gain_db, 2, True), write_number(matched.loudness_lufs - matched.gain_db)
    return [*lines, f"On the stretch at {before} LUFS; turned by {level} dB to be as loud as the others."]


def word_difference(found: Difference, a: str, b: str) -> list[str]:
    """Say what differs between two, the weightiest first; b against a, equally loud."""
    residual, limit_hz = found.residual, found.residual_below_hz
    left = f"{write_number(-residual.below_song_db, 0)} dB under the song"
    reach = "" if limit_hz is None else f"Up to {write_frequency(limit_hz)}, which both rates hold: "
    if found.level_only:
        rest = "nothing is left" if residual.below_song_db <= LOWEST_DB else f"what is left lies {left}"
        return [f"{reach}{_word_level(residual.gain_db, a, b)}; {rest}."]
    lines = [f"{reach}{'w' if reach else 'W'}hat differs lies {left}, at the best level."]
    lines += [_word_region(region, b) for region in _list_regions(found.bands)]
    lines += _word_figure(found.peak_to_loudness_db, LEAST_PEAK_DB, f"The peaks of {b} stand", "over its loudness")
    lines += _word_figure(found.hits_db, LEAST_PEAK_DB, f"Drum hits of {b} stand", "over the song")
    if found.side_db is not None and abs(found.side_db) >= LEAST_SIDE_DB:
        wider = "wider" if found.side_db > 0 else "narrower"
        lines.append(f"{b} is {wider}: its sides are {write_amount(found.side_db, True)} dB against the middle.")
    lines += _word_figure(found.softest_db, LEAST_SOFTEST_DB, f"The softest moment of {b} lies", "in level", "higher")
    for name, faults in ((a, found.faults_a), (b, found.faults_b)):
        lines += [word_fault(fault, name) for fault in faults]
    return lines


def word_fault(fault: FaultCount, name: str) -> str:
    """Say which fault only one of them has, where first, and how strong."""
    what = FAULT_NAMES[fault.kind] if fault.count == 1 else f"{fault.count} {NAMES[fault.kind]}"
    digits = 0 if fault.unit == "samples" else 1
    most = "" if fault.count == 1 else ", at most"
    strength = f"{write_number(fault.strongest, digits)} {fault.unit}"
    first = "at" if fault.count == 1 else "first at"
    return f"Only in {name}: {what}, {first} {write_number(fault.first_s, 2)} s{most} {strength}."


def _word_level(gain_db: float, a: str, b: str) -> str:
    """Say that two are the same, and by how much one is louder."""
    gain = write_number(gain_db, 2, True)
    if abs(gain_db) < LEAST_LEVEL_DB:
        return f"{b} is the same as {a}, level included"
    return f"{b} is the same as {a} apart from level, turned by {gain} dB"


def word_weighing(facts: dict[str, Any]) -> list[str]:
    """Word a weighing for the terminal."""
    lines = []
    for file in facts["files"]:
        lines.append(
            f"{file['file']}: {write_number(file['integrated_lufs'])} LUFS, "
            f"true peak {write_number(file['true_peak_dbtp'])} dBTP"
        )
        lines += [f"  {sentence}" for sentence in file["sentences"]]
    stretch = facts["stretch"]
    lines.append(
        f"stretch: {write_number(stretch['start_s'], 1)} to {write_number(stretch['end_s'], 1)} s of the first, "
        f"equally loud within {write_spread(facts['spread_lu'])}"
    )
    for found in facts["differences"]:
        lines.append(f"{found['b']} against {found['a']}:")
        lines += [f"  {sentence}" for sentence in found["sentences"]]
    return lines


def _word_offset(offset_frames: float, rate_hz: int, first: str) -> str:
    """Say by how much one begins earlier or later."""
    digits = 0 if abs(offset_frames - round(offset_frames)) < 0.02 else 2
    size = write_number(abs(offset_frames), digits)
    if float(size) == 0:
        return f"In step with {first} to the sample."
    how = "later" if offset_frames > 0 else "earlier"
    return f"The song is {size} samples ({_word_time(abs(offset_frames) / rate_hz)}) {how} than in {first}."


def _word_time(time_s: float) -> str:
    return f"{write_number(time_s, 3)} s" if time_s >= 1 else f"{write_number(1000 * time_s, 2)} ms"


def _list_regions(bands: tuple[BandDifference, ...]) -> list[list[BandDifference]]:
    """Join neighbouring bands that differ the same way, and give the regions that differ most, lowest first."""
    regions: list[list[BandDifference]] = []
    last = 0.0
    for band in bands:
        spoken = band.level_db > FAINT_BAND_DB and SPOKEN_HZ[0] <= band.low_hz and band.high_hz <= SPOKEN_HZ[1]
        value = (band.difference_db or 0.0) if spoken else 0.0
        sign = 0.0 if abs(value) < LEAST_BAND_DB else 1.0 if value > 0 else -1.0
        if sign and sign == last:
            regions[-1].append(band)
        elif sign:
            regions.append([band])
        last = sign
    most = sorted(regions, key=lambda region: -max(abs(band.difference_db or 0.0) for band in region))[:MOST_REGIONS]
    return sorted(most, key=lambda region: region[0].low_hz)


def _word_region(region: list[BandDifference], name: str) -> str:
    """Say how much more or less there is between two frequencies."""
    strongest = max(region, key=lambda band: abs(band.difference_db or 0.0))
    value = strongest.difference_db or 0.0
    low, high = write_frequency(region[0].low_hz), write_frequency(region[-1].high_hz)
    middle = write_frequency((strongest.low_hz * strongest.high_hz) ** 0.5)
    most = "" if len(region) == 1 else f", {middle} most"
    return f"{name} holds {write_amount(abs(value))} dB {'more' if value > 0 else 'less'} from {low} to {high}{most}."


def _word_figure(value: float | None, least: float, before: str, behind: str, more: str = "more") -> list[str]:
    """Say by how much a figure is higher or lower, if that is worth it."""
    if value is None or abs(value) < least:
        return []
    less = {"more": "less", "higher": "lower"}[more]
    return [f"{before} {write_amount(abs(value))} dB {more if value > 0 else less} {behind}."]
