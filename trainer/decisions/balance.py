"""A mix against songs of the person's own at equal loudness: band by band, in width and in density."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
import scipy

from trainer.decisions.balance_reading import BANDS_HZ, SongBalance
from trainer.decisions.loud_sections import LEAST_COMPARED_S, LOUD_SHARE
from trainer.errors import BadValue
from trainer.units import write_number

RowKind = Literal["band", "width", "peaks", "hits"]
MOST_REFERENCES = 10
# Two files whose loudness goes up and down alike to this degree hold one song. Measured on the demo songs: a song
# against itself, pushed by 6 LU, 0.99; against another one 0.34 or less.
SAME_OUTLINE = 0.7
# Where this much more of a song had to be taken than its loud part, verse is compared with chorus.
LARGEST_SHARE = 0.3


@dataclass(frozen=True)
class BalanceRow:
    """Compare one quantity; dB.

    Parameters
    ----------
    kind : str
        ``band``, ``width`` (side against middle in a band), ``peaks`` (3 s, over their loudness), ``hits`` (over the
        loudness).
    band_hz : (float, float) or None
        Which band.
    middle_db : float or None
        Median of the references, a band against its song's loudness; None without any.
    mix_db : float or None
        The mix against that; without references, as it is. None where there is nothing to compare.
    references_db : tuple of float or None
        Each reference against the middle.
    """

    kind: RowKind
    band_hz: tuple[float, float] | None
    middle_db: float | None
    mix_db: float | None
    references_db: tuple[float | None, ...]

    @property
    def range_db(self) -> tuple[float, float] | None:
        """Lowest and highest reference against the middle; None without any."""
        values = [value for value in self.references_db if value is not None]
        return (min(values), max(values)) if values else None

    @property
    def outside_db(self) -> float:
        """How far the mix lies beyond all references, with its sign; 0 among them or without any."""
        bounds = self.range_db
        if bounds is None or self.mix_db is None:
            return 0.0
        return max(self.mix_db - bounds[1], 0.0) + min(self.mix_db - bounds[0], 0.0)


@dataclass(frozen=True)
class Comparison:
    """Hold a mix against its references.

    Parameters
    ----------
    mix : SongBalance
        The mix.
    references : tuple of SongBalance
        Those that could be compared.
    rows : tuple of BalanceRow
        The eight bands, their widths, the peaks, the hits.
    thirds : tuple of BalanceRow
        Third octaves.
    refused : tuple of BadValue
        A line for each reference that could not be compared.
    warnings : tuple of str
        What to keep in mind of the others.
    """

    mix: SongBalance
    references: tuple[SongBalance, ...]
    rows: tuple[BalanceRow, ...]
    thirds: tuple[BalanceRow, ...]
    refused: tuple[BadValue, ...] = ()
    warnings: tuple[str, ...] = ()

    def list_rows(self, kind: RowKind) -> tuple[BalanceRow, ...]:
        """List the rows of a kind."""
        return tuple(row for row in self.rows if row.kind == kind)


def compare_balance(mix: SongBalance, references: Sequence[SongBalance]) -> Comparison:
    """Compare a mix with references, each at the loudness of its own loud sections.

    Parameters
    ----------
    mix : SongBalance
        The mix.
    references : sequence of SongBalance
        Up to ten; without any, the rows hold the mix as it is.

    Returns
    -------
    Comparison

    Raises
    ------
    BadValue
        If the mix is silent or there are more than ten references.
    """
    if mix.silent:
        raise BadValue(mix.name, "loudness_lufs", "−∞", "sound to compare")
    if len(references) > MOST_REFERENCES:
        raise BadValue("balance", "references", len(references), f"at most {MOST_REFERENCES}")
    kept: list[SongBalance] = []
    refused: list[BadValue] = []
    for reference in references:
        fault = check_reference(mix, reference, kept)
        if fault is None:
            kept.append(reference)
        else:
            refused.append(fault)
    return Comparison(
        mix, tuple(kept), _make_rows(mix, kept), _compare_thirds(mix, kept), tuple(refused), _warn(mix, kept)
    )


def check_reference(mix: SongBalance, reference: SongBalance, others: Sequence[SongBalance] = ()) -> BadValue | None:
    """Say why a song cannot be a reference: silent, too short, or the mix, or another one, once more."""
    if reference.silent:
        return BadValue(reference.name, "loudness_lufs", "−∞", "sound to compare")
    if reference.compared_s < min(LEAST_COMPARED_S, mix.compared_s) - 0.05:
        length = write_number(reference.duration_s)
        return BadValue(reference.name, "duration_s", length, f"at least {LEAST_COMPARED_S:g} s to compare")
    for other in (mix, *others):
        if reference.sha256 and reference.sha256 == other.sha256:
            return BadValue(reference.name, "sha256", reference.sha256[:12], f"another file than {other.name}")
        alike = compare_outlines(other.outline, reference.outline)
        if alike >= SAME_OUTLINE:
            return BadValue(reference.name, "correlation", write_number(alike, 2), f"another song than {other.name}")
    return None


def compare_outlines(a: npt.NDArray[np.float32], b: npt.NDArray[np.float32]) -> float:
    """Give the highest correlation of two courses of loudness over all lags that leave half of the shorter one in step.

    Parameters
    ----------
    a, b : ndarray, shape (steps,)
        Levels, dB, one value to 10 ms.

    Returns
    -------
    float
        −1 to 1; 0 where one of them does not move.
    """
    least = min(a.size, b.size) // 2
    if least < 100:
        return 0.0
    size = scipy.fft.next_fast_len(a.size + b.size, real=True)
    lags = np.arange(-(b.size - least), a.size - least + 1)
    sums = [_correlate(x, y, size)[lags] for x, y in _list_products(a, b)]
    count, of_a, of_b, squares_a, squares_b, product = sums
    count = np.maximum(np.round(count), 1.0)
    spread = np.maximum(squares_a - of_a**2 / count, 0.0) * np.maximum(squares_b - of_b**2 / count, 0.0)
    moving = spread > (0.5 * count) ** 2
    together = product - of_a * of_b / count
    return float(np.where(moving, together / np.sqrt(np.where(moving, spread, 1.0)), 0.0).max(initial=-1.0))


def _list_products(
    a: npt.NDArray[np.float32], b: npt.NDArray[np.float32]
) -> list[tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]]:
    """List what has to be summed over the steps in common: count, values, squares, product."""
    x, y = a.astype(np.float64), b.astype(np.float64)
    ones_x, ones_y = np.ones_like(x), np.ones_like(y)
    return [(ones_x, ones_y), (x, ones_y), (ones_x, y), (x * x, ones_y), (ones_x, y * y), (x, y)]


def _correlate(x: npt.NDArray[np.float64], y: npt.NDArray[np.float64], size: int) -> npt.NDArray[np.float64]:
    """Sum ``x[n + lag] * y[n]``; a lag below 0 is read from the end."""
    return np.asarray(scipy.fft.irfft(scipy.fft.rfft(x, size) * scipy.fft.rfft(y, size).conj(), size))


def _make_rows(mix: SongBalance, references: Sequence[SongBalance]) -> tuple[BalanceRow, ...]:
    """Compare bands, widths, peaks and hits."""
    bands = [
        _compare("band", band, mix.bands_db[place], [song.bands_db[place] for song in references])
        for place, band in enumerate(BANDS_HZ)
    ]
    widths = [
        _compare("width", band, mix.sides_db[place], [song.sides_db[place] for song in references])
        for place, band in enumerate(BANDS_HZ)
    ]
    peaks = _compare("peaks", None, mix.peak_over_loudness_db, [song.peak_over_loudness_db for song in references])
    hits = _compare("hits", None, mix.hits_over_loudness_db, [song.hits_over_loudness_db for song in references])
    return (*bands, *widths, peaks, hits)


def _compare_thirds(mix: SongBalance, references: Sequence[SongBalance]) -> tuple[BalanceRow, ...]:
    """Compare third octaves; a reference at a lower rate may end before the mix does."""
    known = [dict(song.thirds_db) for song in references]
    return tuple(
        _compare("band", (centre * 10**-0.05, centre * 10**0.05), level, [song.get(centre) for song in known])
        for centre, level in mix.thirds_db
    )


def _compare(
    kind: RowKind, band_hz: tuple[float, float] | None, mix: float | None, references: Sequence[float | None]
) -> BalanceRow:
    """Put everything against the median of the references."""
    values = [value for value in references if value is not None]
    if not values:
        return BalanceRow(kind, band_hz, None, mix, tuple(None for _ in references))
    middle = float(np.median(values))
    against = tuple(None if value is None else value - middle for value in references)
    return BalanceRow(kind, band_hz, middle, None if mix is None else mix - middle, against)


def _warn(mix: SongBalance, references: Sequence[SongBalance]) -> tuple[str, ...]:
    """Say what makes a comparison less than it seems."""
    found = []
    for song in (mix, *references):
        if song.compared_s > LARGEST_SHARE * song.duration_s and song.compared_s > 0:
            share = 100 * song.compared_s / song.duration_s
            found.append(
                f"{song.name} is short: {write_number(share, 0)} % of it is compared, and not its loudest "
                f"{write_number(100 * LOUD_SHARE, 0)} %."
            )
        if song.mono:
            found.append(f"{song.name} has no sides; it says nothing about width.")
    found += [
        f"{song.name} is a coded file: its top, and its sides up there, may not be those of the song."
        for song in references
        if song.coded
    ]
    if len(references) in (1, 2):
        count = "One reference is" if len(references) == 1 else "Two references are"
        found.append(f"{count} a taste and no range: three to five other songs tell more.")
    return tuple(found)
