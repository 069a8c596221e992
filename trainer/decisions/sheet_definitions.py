"""What the settings and results of a sheet mean, so that they can be dialled in with any other maker's tools."""

from __future__ import annotations

from collections.abc import Iterable

_SHELVES = ("low_shelf", "high_shelf")
_COMPRESSORS = ("compressor", "compressor_on_average", "held_down", "pumping", "multiband", "de_esser")
_LIMITERS = ("limiter", "push", "song_push")
_BENDS = ("saturation", "top_harmonics")

# Name: the moves it is about (none: every sheet), and the sentence.
DEFINITIONS: dict[str, tuple[tuple[str, ...], str]] = {
    "loudness": (
        (),
        "Integrated loudness of the whole file in LUFS after ITU-R BS.1770-5, gated; true peak in dBTP, the higher of "
        "two readings.",
    ),
    "order": ((), "Moves are made in the order in which the kept ones are listed; limiter, fades and dither last."),
    "shelf_gain": (
        _SHELVES,
        "A shelf's gain is that of its plateau; at the corner there is half of it in dB. Slope S = 1 (Audio EQ "
        "Cookbook, W3C 2021). Where a maker marks the corner at 3 dB or at another slope, set it by the results.",
    ),
    "bell_q": (
        ("bell",),
        "A bell's Q: the two places with half of the gain in dB are centre / Q apart (Audio EQ Cookbook, W3C 2021).",
    ),
    "tilt": (("tilt",), "A tilt's figure is the rise from 20 Hz to 20 kHz, a straight line in dB over octaves."),
    "high_pass": (("high_pass",), "A high-pass is Butterworth; at its cut-off it is 3 dB down."),
    "saturation": (
        _BENDS,
        "Distortion in % is that of a sine at the level stated (dBFS peak); what was added is measured against the "
        "song, after the best gain and phase of each octave.",
    ),
    "compressor_threshold": (
        _COMPRESSORS,
        "A threshold is the peak level of the louder channel in the middle of the knee, in dBFS, without make-up "
        "gain. It means something else in other hands: set it by the reduction.",
    ),
    "attack_release": (
        _COMPRESSORS,
        "Attack and release are the times to 63 % of a step; the gain comes back along both, one after the other.",
    ),
    "side_chain": (
        ("compressor", "compressor_on_average", "held_down", "pumping"),
        "A side-chain high-pass is of second order and filters only what steers; at 0 Hz there is none.",
    ),
    "reduction": (
        (*_COMPRESSORS, *_LIMITERS),
        "Reduction on the loudest hits is the mean of the deepest reductions, one to a second of sound, at least "
        "100 ms apart, read in steps of 1 ms.",
    ),
    "limiter": (
        _LIMITERS,
        "Drive is the gain ahead of the limiter, ceiling its highest true peak, look-ahead 3 ms; a slow release takes "
        "over what has been held down for longer. clip_over_db is how far a soft clipper ahead of the limiter sits "
        "above the ceiling; at 90 dB there is none. Sound above 21 kHz is taken away first.",
    ),
    "width": (("width",), "Sides are (left − right) / 2; their gain is against the middle, (left + right) / 2."),
    "mono_below": (("mono_below",), "At the corner of mono below, the sides are 6 dB down, with linear phase."),
}


def choose_definitions(moves: Iterable[str]) -> dict[str, str]:
    """Choose the definitions that hold for some moves, by name."""
    used = set(moves)
    return {name: words for name, (about, words) in DEFINITIONS.items() if not about or used & set(about)}
