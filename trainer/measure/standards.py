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
