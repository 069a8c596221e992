"""Numbers of the standards used here, each with its document and clause."""

from __future__ import annotations

# ITU-R BS.1770-5, Annex 1: K-weighting, Tables 1 and 2, as the analogue parameters from which they follow at any
# rate (B. De Man, "Evaluation of implementations of the EBU R 128 loudness measurement", AES 145, 2018).
SHELF_HZ = 1681.974450955533
SHELF_GAIN_DB = 3.999843853973347
SHELF_Q = 0.7071752369554196
SHELF_BAND_EXPONENT = 0.4996667741545416
HIGH_PASS_HZ = 38.13547087602444
HIGH_PASS_Q = 0.5003270373238773

# ITU-R BS.1770-5, Annex 1: loudness of one block, and the gates.
LOUDNESS_OFFSET_DB = -0.691
BLOCK_S = 0.4
BLOCK_STEP_S = 0.1
ABSOLUTE_GATE_LUFS = -70.0
RELATIVE_GATE_LU = -10.0

# ITU-R BS.1770-5, Annex 1: weights of left, right, centre, left and right surround; no LFE.
SURROUND_WEIGHTS = (1.0, 1.0, 1.0, 1.41, 1.41)

# EBU Tech 3341 (2023): short-term loudness is ungated, over 3 s; momentary over the block of BS.1770.
SHORT_TERM_S = 3.0
# EBU Tech 3341 (2023), Table 1: a meter's tolerances; true peak above and below what was asked.
LOUDNESS_TOLERANCE_LU = 0.1
TRUE_PEAK_TOLERANCE_DB = (-0.4, 0.2)

# EBU Tech 3342 (2016): the loudness range's relative gate, its percentiles and its tolerance; not recommended for
# programmes shorter than a minute.
RANGE_GATE_LU = -20.0
RANGE_PERCENTILES = (0.10, 0.95)
RANGE_TOLERANCE_LU = 1.0
RANGE_STABLE_S = 60.0

# EBU R 128 (2023), item m: highest true peak in production. Also the ceiling of everything played here.
CEILING_DBTP = -1.0

# IEC 61260-1:2014, 5.2 to 5.5: base-10 third octaves, exact centres 1000 * 10**(x/10) Hz.
THIRD_OCTAVE_INDICES = tuple(range(-17, 14))


def third_octave_centre_hz(index: int) -> float:
    """Give the exact centre of third octave ``index``, 0 being 1 kHz (IEC 61260-1:2014)."""
    return float(1000.0 * 10.0 ** (index / 10.0))


def third_octave_edges_hz(index: int) -> tuple[float, float]:
    """Give the band edges of third octave ``index`` (IEC 61260-1:2014)."""
    centre = third_octave_centre_hz(index)
    return centre * 10.0**-0.05, centre * 10.0**0.05


def keeps_loudness_tolerance(reading_lufs: float, expected_lufs: float) -> bool:
    """Tell whether a loudness reading is within what EBU Tech 3341 (2023), Table 1, allows."""
    return abs(reading_lufs - expected_lufs) <= LOUDNESS_TOLERANCE_LU


def keeps_true_peak_tolerance(reading_dbtp: float, expected_dbtp: float) -> bool:
    """Tell whether a true-peak reading is within what EBU Tech 3341 (2023), Table 1, allows."""
    below, above = TRUE_PEAK_TOLERANCE_DB
    return below <= reading_dbtp - expected_dbtp <= above


def keeps_range_tolerance(reading_lu: float, expected_lu: float) -> bool:
    """Tell whether a loudness range is within what EBU Tech 3342 (2016) allows."""
    return abs(reading_lu - expected_lu) <= RANGE_TOLERANCE_LU
