"""A stem is one part's share of its mix: mix + (g − 1) · stem is the mix with that part changed by g.

The transfer from stem to mix is estimated from averaged cross spectra (J. S. Bendat, A. G. Piersol,
"Random Data", single input, output noise: H = Sxy / Sxx); what else plays is the noise.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest
import soundfile as sf
from numpy.typing import NDArray
from scipy import signal as sps

from tests.audio_demo.song_file import ENTRIES, FOLDER, SongFile, level_db, read, steps_db, third_octaves_db

# The third octaves of IEC 61260 from 63 Hz to 16 kHz, by exact midband frequencies.
CENTRES_HZ = tuple(round(1000.0 * 10 ** (number / 10.0)) for number in range(-12, 13))
STEMS = [(entry, stem) for entry in ENTRIES for stem in entry["stems"]]

pytestmark = pytest.mark.parametrize(("entry", "stem"), STEMS, ids=[stem["file"] for _, stem in STEMS])


@dataclass(frozen=True)
class Spectra:
    """Short spectra of the middles of mix and stem, (bins, pieces), and the bins' frequencies in hertz."""

    freq_hz: NDArray[np.float64]
    mix: NDArray[np.complex128]
    stem: NDArray[np.complex128]

    def coherence_with(self, other: NDArray[np.complex128]) -> NDArray[np.float64]:
        """Magnitude-squared coherence of the stem and another sound in each bin."""
        cross = (self.stem.conj() * other).mean(axis=1)
        powers = (np.abs(self.stem) ** 2).mean(axis=1) * (np.abs(other) ** 2).mean(axis=1)
        return np.asarray(np.abs(cross) ** 2 / powers)


@cache
def spectra(mix_file: str, stem_file: str, frames: int) -> Spectra:
    """Analyse both files in pieces of so many frames."""
    (mix, rate_hz), (stem, _) = read(mix_file), read(stem_file)
    freq_hz, _, whole = sps.stft(mix.mean(axis=1), rate_hz, nperseg=frames)
    _, _, share = sps.stft(stem.mean(axis=1), rate_hz, nperseg=frames)
    return Spectra(freq_hz, whole, share)


def test_stem_is_listed_as_it_is(entry: dict[str, str], stem: dict[str, str]) -> None:
    """Name, checksum, format, and the same length as the mix to a frame."""
    path = FOLDER / stem["file"]
    assert stem["file"] == entry["file"].removesuffix(".flac") + f".{stem['part']}.flac"
    assert hashlib.sha256(path.read_bytes()).hexdigest() == stem["sha256"]
    info, whole = sf.info(path), sf.info(FOLDER / entry["file"])
    assert (info.format, info.subtype, info.samplerate, info.channels) == ("FLAC", "PCM_16", 48_000, 2)
    assert info.frames == whole.frames


def test_mix_holds_the_stem_once_and_in_time(entry: dict[str, str], stem: dict[str, str]) -> None:
    """Where the stem rules the mix, the transfer from stem to mix is 1: neither gain nor delay between them.

    A level 0.2 dB off would be 0.023; a delay of a tenth of a millisecond would be 0.6 rad at 1 kHz. Six bins give
    the mean to 0.01 and better: a gain's random error is sqrt((1 − γ²) / (2 n γ²)), with more than 100 pieces apart.
    """
    seen = spectra(entry["file"], stem["file"], 16_384)
    ruled = seen.coherence_with(seen.mix) > 0.9
    assert ruled.sum() >= 6
    own = (np.abs(seen.stem[ruled]) ** 2).mean(axis=1)
    transfer = (seen.stem[ruled].conj() * seen.mix[ruled]).mean(axis=1) / own
    assert abs(np.mean(transfer) - 1.0) < 0.02
    assert np.median(np.abs(transfer - 1.0)) < 0.03


def test_without_the_stem_the_part_is_gone(entry: dict[str, str], stem: dict[str, str]) -> None:
    """In the bins the stem rules, the rest is at least 8 dB softer, and has nothing in common with the stem."""
    seen = spectra(entry["file"], stem["file"], 16_384)
    rest = seen.mix - seen.stem
    ruled = seen.coherence_with(seen.mix) > 0.9
    fall = (np.abs(seen.mix[ruled]) ** 2).sum() / (np.abs(rest[ruled]) ** 2).sum()
    assert 10.0 * np.log10(fall) > 8.0
    assert np.median(seen.coherence_with(rest)[ruled]) < 0.1


def test_where_the_part_is_alone_it_leaves_a_hole(entry: dict[str, str], stem: dict[str, str]) -> None:
    """Where and when stem and mix are equally strong, taking the stem away leaves 10 dB less, a late copy would not.

    Equal strength alone proves nothing: two strangers of one level would leave 3 dB more.
    """
    seen = spectra(entry["file"], stem["file"], 2048)
    whole, share = np.abs(seen.mix) ** 2, np.abs(seen.stem) ** 2
    alone = (share > 0.8 * whole) & (share < 1.25 * whole) & (share > 1e-5 * share.max())
    assert alone.sum() > 1000
    rest = np.abs(seen.mix - seen.stem) ** 2
    late = np.abs(seen.mix - np.roll(seen.stem, 1, axis=1)) ** 2
    assert np.median(10.0 * np.log10(whole[alone] / rest[alone])) > 10.0
    assert np.median(10.0 * np.log10(whole[alone] / late[alone])) < 0.0


def test_mix_with_the_part_changed_does_not_overload(entry: dict[str, str], stem: dict[str, str]) -> None:
    """6 dB up, and gone: no sample beyond full scale, and the rest is a song without its part."""
    (mix, _), (share, _) = read(entry["file"]), read(stem["file"])
    assert np.abs(mix + (10 ** (6.0 / 20.0) - 1.0) * share).max() <= 1.0
    assert -40.0 < level_db(mix - share) < level_db(mix)


def test_the_part_sounds_in_two_sections_at_least(entry: dict[str, str], stem: dict[str, str]) -> None:
    """Not more than 18 dB below the mix, under which a change of 3 dB moves the sum by less than half a decibel.

    Closed form for a part in phase with the rest: 1 + 0.41 · 10**(−18/20) is 0.44 dB.
    """
    song, part = (SongFile(entry, *read(name)) for name in (entry["file"], stem["file"]))
    heard = [
        level_db(part.between(s["start_s"], s["end_s"])) - level_db(song.between(s["start_s"], s["end_s"])) >= -18.0
        for s in song.entry["sections"]
    ]
    assert sum(heard) >= 2


def test_dither_lies_far_under_the_mix(entry: dict[str, str], stem: dict[str, str]) -> None:
    """White and 30 dB under verses and choruses in every third octave, also where a stem leaves its low bits unused.

    Closed form of triangular dither of two steps: the error's power is a quarter of a step's square (R. A.
    Wannamaker and others, "A theory of nonsubtractive dither", IEEE Trans. Signal Processing 48, 2000; from memory).
    It is found again where the part has not begun, and 6 dB up leaves as much of it in the mix as there is.
    """
    song, part = SongFile(entry, *read(entry["file"])), SongFile(entry, *read(stem["file"]))
    raw, _ = sf.read(FOLDER / stem["file"], dtype="int16")
    step = int(np.gcd.reduce(raw.ravel())) / 32768.0
    dither_db = 10.0 * np.log10(step**2 / 4.0)
    assert abs(level_db(part.between(0.0, song.entry["first_downbeat_s"] - 0.05)) - dither_db) < 0.5
    for kind in ("verse", "chorus"):
        bands_db = third_octaves_db(song.sections(kind), song.rate_hz, CENTRES_HZ)
        for centre_hz, band_db in bands_db.items():
            width_hz = centre_hz * (2 ** (1 / 6) - 2 ** (-1 / 6))
            assert band_db - dither_db - 10.0 * np.log10(width_hz / (song.rate_hz / 2.0)) > 30.0, (kind, centre_hz)


def test_a_voice_has_sibilants(entry: dict[str, str], stem: dict[str, str]) -> None:
    """Thirty pieces of 20 ms and more have most of their energy above 4 kHz, 3 to 20 dB under the loudest vowels.

    Where an s lies against the vowels is common practice, no source.
    """
    if stem["part"] != "voice":
        pytest.skip("not a voice")
    voice, rate_hz = read(stem["file"])
    sections = sps.butter(4, 4000.0, "highpass", fs=rate_hz, output="sos")
    high = steps_db(np.asarray(sps.sosfilt(sections, voice, axis=0), dtype=np.float32), rate_hz, 0.02)
    whole = steps_db(voice, rate_hz, 0.02)
    vowels_db = float(np.percentile(whole, 95.0))
    sibilants_db = high[(high > whole - 3.0) & (high > vowels_db - 25.0)]
    assert len(sibilants_db) >= 30
    assert 3.0 < vowels_db - float(np.percentile(sibilants_db, 90.0)) < 20.0
