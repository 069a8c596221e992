"""What is read of one song for a comparison: the tone, width and density of its loud sections, at equal loudness."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy

from trainer.audio.clip import Clip
from trainer.audio.file_form import FileForm
from trainer.decisions.loud_sections import Span, find_loud_spans
from trainer.measure import standards
from trainer.measure.programme import Programme, measure_programme
from trainer.measure.spectrum import LongTermSpectrum, SpectrumMeter
from trainer.measure.steps import block_frames
from trainer.measure.weighting import design_k_weighting

Values = npt.NDArray[np.float64]

# Broad enough that no single note fills one; common practice, no source.
BANDS_HZ = (
    (20.0, 60.0), (60.0, 120.0), (120.0, 250.0), (250.0, 500.0),
    (500.0, 2000.0), (2000.0, 5000.0), (5000.0, 10000.0), (10000.0, 20000.0),
)  # fmt: skip
# So far below its loudness a band of a song holds nothing that could be compared.
EMPTY_DB = -90.0
NO_SIDE_DB = -60.0
# Levels of a spectrum are means over the two channels, loudness is their sum.
SUM_DB = 10 * math.log10(2)
# The outline of a song's loudness keeps so much of its range, and no change that takes longer than a second.
OUTLINE_DB, OUTLINE_STEPS = 30.0, 100


@dataclass(frozen=True)
class SongBalance:
    """Hold what a song is compared by; small, so that songs can be read one after the other.

    Parameters
    ----------
    name : str
        What it is called.
    sha256 : str
        Hash of its file; may be empty.
    duration_s : float
        Its length.
    coded : bool
        Whether the file keeps no samples as they were (MP3, Ogg Vorbis).
    spans : tuple of (float, float)
        Its loud sections, s; empty where it is silent.
    loudness_lufs : float
        Ungated loudness of these; minus infinity for silence.
    bands_db : tuple of float or None
        Level of each of `BANDS_HZ` against that loudness, dB; None where nothing is.
    thirds_db : tuple of (float, float or None)
        Centre of each third octave, Hz, and its level likewise.
    sides_db : tuple of float or None
        Level of the side against the middle in each band, dB; None where there is no side or no middle.
    peak_over_loudness_db : float or None
        Highest true peak of 3 s over the loudness of the same 3 s, median over the loud part.
    hits_over_loudness_db : float or None
        Mean true peak at the hits over the integrated loudness.
    outline : ndarray of float32, shape (steps,)
        How the loudness goes up and down, dB, in steps of 10 ms, by which two files of one song are known.
    """

    name: str
    sha256: str
    duration_s: float
    coded: bool
    spans: tuple[Span, ...]
    loudness_lufs: float
    bands_db: tuple[float | None, ...]
    thirds_db: tuple[tuple[float, float | None], ...]
    sides_db: tuple[float | None, ...]
    peak_over_loudness_db: float | None
    hits_over_loudness_db: float | None
    outline: npt.NDArray[np.float32]

    @property
    def silent(self) -> bool:
        """Whether there is nothing to compare."""
        return not math.isfinite(self.loudness_lufs)

    @property
    def mono(self) -> bool:
        """Whether it has no sides, be it in one channel or in two."""
        return all(side is None for side in self.sides_db)

    @property
    def compared_s(self) -> float:
        """How much of it is compared, s."""
        return sum(end - start for start, end in self.spans)


def read_balance(
    name: str, clip: Clip, form: FileForm, programme: Programme | None = None, sha256: str = ""
) -> SongBalance:
    """Read what a song is compared by, from its loud sections.

    Parameters
    ----------
    name : str
        What it is called.
    clip : Clip
        The whole song at its working rate.
    form : FileForm
        What the file's head says.
    programme : Programme, optional
        What was measured of the file; measured on the clip if not given, or if the file has one channel.
    sha256 : str
        Hash of the file.

    Returns
    -------
    SongBalance
        Of a silent song, without spans and figures.
    """
    if programme is None or programme.channels != 2:
        programme = measure_programme(clip.samples, clip.rate_hz)
    spans = find_loud_spans(programme.loudness)
    spectrum = measure_spans(clip, spans)
    loudness = _weigh(spectrum, clip.rate_hz) if spans else -math.inf
    heard = math.isfinite(loudness)
    bands = tuple(_against(spectrum.sum_band(*band), loudness) if heard else None for band in BANDS_HZ)
    thirds = tuple(
        (centre, None if level is None or not heard else level + SUM_DB - loudness)
        for centre, level in spectrum.third_octaves
    )
    sides = tuple(_compare_sides(spectrum, band) if heard else None for band in BANDS_HZ)
    dynamics = programme.dynamics
    return SongBalance(
        name, sha256, clip.duration_s, form.bit_depth is None, spans if heard else (), loudness, bands, thirds, sides,
        dynamics.short_term_dynamics_db if heard else None,
        dynamics.transient_crest_db if heard else None,
        _outline(programme.loudness.power),
    )  # fmt: skip


def measure_spans(clip: Clip, spans: tuple[Span, ...]) -> LongTermSpectrum:
    """Average the spectrum over some spans of a song, no frame reaching across their ends."""
    found = []
    for start_s, end_s in spans or ((0.0, clip.duration_s),):
        meter = SpectrumMeter(clip.rate_hz, 2)
        first, last = round(start_s * clip.rate_hz), round(end_s * clip.rate_hz)
        for place in range(first, last, block_frames(clip.rate_hz)):
            meter.add(clip.samples[place : min(place + block_frames(clip.rate_hz), last)].T)
        found.append(meter.finish())
    counts = [spectrum.low_frames.shape[0] for spectrum in found]
    return LongTermSpectrum(
        found[0].width_hz,
        np.average([spectrum.power for spectrum in found], axis=0, weights=counts),
        np.average([spectrum.cross for spectrum in found], axis=0, weights=counts),
        np.concatenate([spectrum.low_frames for spectrum in found]),
    )


def _weigh(spectrum: LongTermSpectrum, rate_hz: int) -> float:
    """Give the loudness of a spectrum without gates, LUFS; ITU-R BS.1770-5, Annex 1, from its lines."""
    lines = np.arange(spectrum.power.shape[1]) * spectrum.width_hz
    _, gain = scipy.signal.sosfreqz(design_k_weighting(rate_hz), np.minimum(2 * np.pi * lines / rate_hz, np.pi))
    power = float((spectrum.power.sum(axis=0) * np.abs(gain) ** 2).sum())
    lufs = standards.LOUDNESS_OFFSET_DB + 10 * math.log10(max(power, 1e-20))
    return lufs if lufs > standards.ABSOLUTE_GATE_LUFS else -math.inf


def _against(mean_power: float, loudness_lufs: float) -> float | None:
    """Give a band's level, both channels summed, against a loudness; None where nothing is."""
    if mean_power <= 0:
        return None
    level = 10 * math.log10(mean_power) + SUM_DB - loudness_lufs
    return level if level > EMPTY_DB else None


def _compare_sides(spectrum: LongTermSpectrum, band_hz: tuple[float, float]) -> float | None:
    """Give the level of the side against the middle in a band, dB."""
    both = spectrum.sum_band(*band_hz)
    cross = LongTermSpectrum(spectrum.width_hz, spectrum.cross[None], spectrum.cross, spectrum.low_frames)
    product = cross.sum_band(*band_hz)
    middle, side = both + product, both - product
    if middle <= 1e-20 or side <= middle * 10 ** (NO_SIDE_DB / 10):
        return None
    return 10 * math.log10(side / middle)


def _outline(power: Values) -> npt.NDArray[np.float32]:
    """Draw how the loudness goes up and down within a second, dB."""
    if power.size == 0:
        return np.zeros(0, dtype=np.float32)
    floor = max(float(power.max()), 1e-20) * 10 ** (-OUTLINE_DB / 10)
    levels = 10 * np.log10(np.maximum(power, floor))
    return np.asarray(levels - scipy.ndimage.uniform_filter1d(levels, OUTLINE_STEPS), dtype=np.float32)
