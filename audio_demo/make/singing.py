"""A sung line: the envelope of speech on the pitch of a tune, with the consonants of the speech kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy import signal as sps

from .alignment import Alignment, align
from .envelope import FFT, GRID_HZ, Envelopes, analyse
from .filters import equalise, high_cut, low_cut, minimum_phase
from .score import Phrase, Timeline, dice
from .signal import RATE_HZ, Audio, Curve, add_at, frames_in, mono, silence
from .speech import Speaker, speak

_MARGIN_S = 0.3
# A line that ends on a voiced sound dies away in this time.
_RELEASE_S = 0.14


@dataclass(frozen=True)
class Take:
    """How one singer sings once: everything in which two takes differ."""

    speaker: Speaker
    seed: int
    cents: float = 0.0
    late_ms: float = 0.0
    formant: float = 1.0
    breath: float = 1.0
    vibrato_cents: float = 22.0
    transpose: int = 0


def _tune_cents(line: Phrase, timeline: Timeline, time_s: Curve) -> Curve:
    """Pitch of the written notes over time, in cents of MIDI keys, with glides between them."""
    starts = np.array([timeline.at(line.bar, note.beat) for note in line.notes])
    keys = np.array([100.0 * note.key for note in line.notes])
    index = np.clip(np.searchsorted(starts - 0.035, time_s, side="right") - 1, 0, len(keys) - 1)
    stepped = keys[index]
    width = frames_in(0.075)
    window = np.hanning(width)
    padded = np.pad(stepped, (width // 2, width - 1 - width // 2), mode="edge")
    glided = sps.fftconvolve(padded - keys[0], window / window.sum(), mode="valid") + keys[0]
    scoop = -70.0 * np.exp(-np.maximum(time_s - starts[0], 0.0) / 0.07)
    return np.asarray(glided + scoop, dtype=np.float64)


def _vibrato_cents(line: Phrase, timeline: Timeline, time_s: Curve, depth_cents: float) -> Curve:
    """Vibrato that grows on notes held longer than a third of a second."""
    depth = np.zeros(len(time_s))
    for note in line.notes:
        start, end = timeline.at(line.bar, note.beat), timeline.at(line.bar, note.beat + note.beats)
        if end - start > 0.33:
            inside = (time_s >= start) & (time_s < end)
            depth[inside] = np.clip((time_s[inside] - start - 0.22) / 0.35, 0.0, 1.0)
    wobble = 2.0 * np.pi * np.cumsum(5.3 + 0.25 * np.sin(2.0 * np.pi * 0.7 * time_s)) / RATE_HZ
    return np.asarray(depth_cents * depth * np.sin(wobble), dtype=np.float64)


def _drift_cents(frames: int, rng: np.random.Generator) -> Curve:
    """Slow wandering of some cents, as no voice stands still."""
    knots = rng.normal(0.0, 7.0, frames // 4800 + 4)
    return np.asarray(np.interp(np.arange(frames) / 4800.0, np.arange(len(knots)), knots), dtype=np.float64)


def _pulse_times(pitch_hz: Curve, start_s: float, rng: np.random.Generator) -> Curve:
    """Moments of the glottal pulses, with a little jitter."""
    phase = np.cumsum(pitch_hz) / RATE_HZ
    whole = np.arange(1.0, np.floor(phase[-1]))
    whole += rng.normal(0.0, 0.004, len(whole))
    return np.asarray(start_s + np.interp(whole, phase, np.arange(len(phase))) / RATE_HZ, dtype=np.float64)


def _gate(alignment: Alignment, time_s: Curve, value: dict[str, float]) -> Curve:
    """A gain over time by kind of phoneme, with 8 ms ramps and a release at the end."""
    corners: list[tuple[float, float]] = [(alignment.placed[0].start_s - 0.02, 0.0)]
    for item in alignment.placed:
        p = item.phoneme
        kind = "unvoiced" if p.is_unvoiced else "noisy" if p.is_noisy else "open"
        ramp = min(0.008, 0.4 * (item.end_s - item.start_s))
        corners += [(item.start_s + ramp, value[kind]), (item.end_s - ramp, value[kind])]
    corners.append((alignment.placed[-1].end_s + _RELEASE_S, 0.0))
    gain = np.interp(time_s, [c[0] for c in corners], [c[1] for c in corners])
    # Rests inside a line have no phoneme; nothing may sound there.
    for one, two in pairwise(alignment.placed):
        if two.start_s - one.end_s > 0.03:
            inside = (time_s > one.end_s) & (time_s < two.start_s)
            near = np.minimum(time_s[inside] - one.end_s, two.start_s - time_s[inside])
            gain[inside] *= np.clip(1.0 - near / 0.03, 0.0, 1.0)
    return np.asarray(gain, dtype=np.float64)


def _noise_share(noisy: Curve, breath: float) -> Curve:
    """Amplitude share of noise over frequency, for each pulse; more in z, v and their like."""
    rise = np.interp(GRID_HZ, (0.0, 1500.0, 4000.0, 8000.0, 12000.0), (0.01, 0.03, 0.16, 0.55, 0.9))
    base = np.clip(breath * rise, 0.0, 0.98)[None, :]
    extra = np.interp(GRID_HZ, (0.0, 1500.0, 3000.0), (0.0, 0.1, 0.8))[None, :]
    return np.asarray(np.maximum(base, noisy[:, None] * extra), dtype=np.float64)


def _warped(rows: Curve, formant: float) -> Curve:
    """Move the formants by a factor."""
    if formant == 1.0:
        return rows
    return np.array([np.interp(GRID_HZ / formant, GRID_HZ, row) for row in rows])


def _grains(rows: Curve, share: Curve, periods: Curve, parts: Curve, rng: np.random.Generator) -> Curve:
    """One pulse and one burst of noise for each glottal period, through the envelope."""
    filters = minimum_phase(rows)
    delay = np.exp(-2j * np.pi * parts[:, None] * GRID_HZ[None, :] / RATE_HZ)
    pulses = np.sqrt(periods)[:, None] * delay * np.sqrt(1.0 - share**2)
    noise = rng.standard_normal((len(rows), FFT // 2))
    noise *= np.arange(FFT // 2)[None, :] < periods[:, None]
    spectrum = filters * (pulses + np.fft.rfft(noise, FFT, axis=1) * share)
    grains = np.fft.irfft(spectrum, FFT, axis=1)
    grains[:, -256:] *= np.linspace(1.0, 0.0, 256)
    return np.asarray(grains, dtype=np.float64)


def _voiced(alignment: Alignment, envelopes: Envelopes, pitch_hz: Curve, origin_s: float, take: Take) -> Audio:
    """The pitched part of a line, from its first frame at ``origin_s``."""
    rng = dice(take.seed, "voiced")
    times = _pulse_times(pitch_hz, origin_s, rng)
    loud = _gate(alignment, times, {"open": 1.0, "noisy": 0.8, "unvoiced": 0.0})
    times, loud = times[loud > 1e-3], loud[loud > 1e-3]
    noisy = _gate(alignment, times, {"open": 0.0, "noisy": 1.0, "unvoiced": 0.0})
    place = (times - origin_s) * RATE_HZ
    first = np.floor(place).astype(np.int64)
    periods = RATE_HZ / np.interp(place, np.arange(len(pitch_hz)), pitch_hz)
    rows = _warped(envelopes.at(alignment.speech_at(times)), take.formant)
    grains = _grains(rows, _noise_share(noisy, take.breath), periods, place - first, rng)
    grains *= (loud * (1.0 + rng.normal(0.0, 0.02, len(loud))))[:, None]
    out = np.zeros((len(pitch_hz) + FFT, 1))
    for start, grain in zip(first, grains, strict=True):
        out[start : start + FFT, 0] += grain
    return np.asarray(out, dtype=np.float32)


def _with_air(speech: Audio, rng: np.random.Generator) -> Audio:
    """Carry the noise of consonants on above the speech's band: its own strength from 5 to 10 kHz rules."""
    band = equalise(speech, (low_cut(5000.0), low_cut(5000.0), high_cut(9500.0)))
    smooth = sps.butter(2, 180.0, fs=RATE_HZ, output="sos")
    strength = np.maximum(sps.sosfiltfilt(smooth, np.abs(band), axis=0), 0.0)
    noise = rng.standard_normal(speech.shape) * strength
    air = equalise(np.asarray(noise, dtype=np.float32), (low_cut(9500.0), low_cut(9000.0), high_cut(15000.0)))
    return np.asarray(speech + 1.5 * air, dtype=np.float32)


def _unvoiced(alignment: Alignment, speech: Audio, origin_s: float, frames: int, take: Take) -> Audio:
    """The consonants of the speech itself, at their own speed, where the tune wants them."""
    bright = _with_air(speech, dice(take.seed, "air"))
    hissing = equalise(bright, (low_cut(2500.0), low_cut(2500.0)))
    out = np.zeros((frames, 1), dtype=np.float32)
    for item in alignment.placed:
        p = item.phoneme
        if not (p.is_unvoiced or p.is_noisy):
            continue
        source = bright if p.is_unvoiced else hissing
        start, length = frames_in(p.start_s), frames_in(min(p.end_s - p.start_s, item.end_s - item.start_s))
        piece = source[max(0, start - 144) : start + length + 144].copy()
        ramp = np.linspace(0.0, 1.0, min(192, len(piece) // 2), dtype=np.float32)[:, None]
        piece[: len(ramp)] *= ramp
        piece[len(piece) - len(ramp) :] *= ramp[::-1]
        add_at(out, piece, item.start_s - origin_s - min(144, start) / RATE_HZ)
    return out


def sing_line(line: Phrase, timeline: Timeline, take: Take) -> tuple[Audio, float]:
    """Return one sung line of one channel, and the time in seconds at which it starts in the song."""
    speech = speak(line.words, take.speaker)
    alignment = align(speech.phonemes, line, timeline)
    origin_s = max(0.0, alignment.placed[0].start_s - _MARGIN_S)
    frames = frames_in(alignment.placed[-1].end_s + _MARGIN_S - origin_s)
    time_s = origin_s + np.arange(frames) / RATE_HZ
    cents = _tune_cents(line, timeline, time_s) + 100.0 * take.transpose + take.cents
    cents = cents + _vibrato_cents(line, timeline, time_s, take.vibrato_cents)
    cents = cents + _drift_cents(frames, dice(take.seed, line.words))
    pitch_hz = np.asarray(440.0 * 2.0 ** ((cents - 6900.0) / 1200.0), dtype=np.float64)
    sung = _voiced(alignment, analyse(speech.audio), pitch_hz, origin_s, take)[:frames]
    return sung + _unvoiced(alignment, speech.audio, origin_s, frames, take), origin_s + take.late_ms / 1000.0


def sing(lines: Sequence[Phrase], timeline: Timeline, take: Take, seconds: float) -> Audio:
    """Return all lines of a take as one track of one channel."""
    track = mono(silence(seconds))
    for line in lines:
        audio, start_s = sing_line(line, timeline, take)
        add_at(track, audio, start_s)
    return track
