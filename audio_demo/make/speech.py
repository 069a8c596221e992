"""Spoken lines from the espeak-ng library, with the time of every phoneme and word."""

from __future__ import annotations

import ctypes
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Any

import numpy as np
from scipy import signal as sps

from .signal import RATE_HZ, Audio

# Values of espeak-ng's public header speak_lib.h.
_SYNCHRONOUS, _PHONEME_EVENTS = 2, 1
_EVENT_END, _EVENT_WORD, _EVENT_PHONEME = 0, 1, 7
_PARAMETER_RATE, _PARAMETER_PITCH, _PARAMETER_RANGE = 1, 3, 4
_ENCODING_UTF8 = 1
_ESPEAK_RATE_HZ = 22_050

_VOWEL_STARTS = frozenset("aAeEiIoOuUV03@")
_UNVOICED = frozenset({"s", "t", "t#", "t2", "k", "f", "p", "S", "tS", "T", "h", "x", "?"})
_VOICED_NOISY = frozenset({"z", "v", "D", "Z", "dZ", "b", "d", "g"})


class _Name(ctypes.Union):
    _fields_ = (("number", ctypes.c_int), ("name", ctypes.c_char_p), ("string", ctypes.c_char * 8))


class _Event(ctypes.Structure):
    _fields_ = (
        ("type", ctypes.c_int),
        ("identifier", ctypes.c_uint),
        ("text_position", ctypes.c_int),
        ("length", ctypes.c_int),
        ("audio_position_ms", ctypes.c_int),
        ("sample", ctypes.c_int),
        ("user_data", ctypes.c_void_p),
        ("id", _Name),
    )


_Callback = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.POINTER(_Event))


@dataclass(frozen=True)
class Phoneme:
    """A stretch of speech in seconds; ``word`` counts from 0 within the line."""

    name: str
    start_s: float
    end_s: float
    word: int

    @property
    def is_vowel(self) -> bool:
        """Whether the phoneme can carry a note."""
        return self.name[0] in _VOWEL_STARTS

    @property
    def is_unvoiced(self) -> bool:
        """Whether the phoneme has no pitch at all."""
        return self.name in _UNVOICED

    @property
    def is_noisy(self) -> bool:
        """Whether the phoneme has noise of its own beside its pitch."""
        return self.name in _VOICED_NOISY


@dataclass(frozen=True)
class Speech:
    """A spoken line: one channel at the workshop's rate, and its phonemes in order."""

    audio: Audio
    phonemes: tuple[Phoneme, ...]


@dataclass(frozen=True)
class Speaker:
    """Which espeak-ng voice speaks, how fast (words per minute) and how high (0–99)."""

    voice: str
    rate_wpm: int
    pitch: int


@cache
def _library() -> ctypes.CDLL:
    """Load and start espeak-ng once."""
    library = ctypes.CDLL("libespeak-ng.so.1")
    rate_hz = library.espeak_Initialize(_SYNCHRONOUS, 0, None, _PHONEME_EVENTS)
    if rate_hz != _ESPEAK_RATE_HZ:
        raise RuntimeError(f"espeak-ng: rate_hz={rate_hz}, expected {_ESPEAK_RATE_HZ}")
    return library


def _collect(words: str, speaker: Speaker) -> tuple[Audio, list[tuple[int, int, str]]]:
    """Speak, and gather samples and (sample, event type, phoneme name)."""
    library = _library()
    pieces: list[Audio] = []
    events: list[tuple[int, int, str]] = []

    def receive(wave: Any, count: int, event: Any) -> int:
        if wave and count > 0:
            samples = np.ctypeslib.as_array(wave, (count,))
            pieces.append(samples.astype(np.float32) / 32768.0)
        index = 0
        while event[index].type != _EVENT_END:
            entry = event[index]
            if entry.type in (_EVENT_WORD, _EVENT_PHONEME):
                name = entry.id.string.decode() if entry.type == _EVENT_PHONEME else ""
                events.append((entry.sample, entry.type, name))
            index += 1
        return 0

    callback = _Callback(receive)
    library.espeak_SetSynthCallback(callback)
    if library.espeak_SetVoiceByName(speaker.voice.encode()) != 0:
        raise ValueError(f"espeak-ng: voice={speaker.voice!r}, expected an installed voice")
    for parameter, value in (
        (_PARAMETER_RATE, speaker.rate_wpm),
        (_PARAMETER_PITCH, speaker.pitch),
        (_PARAMETER_RANGE, 0),
    ):
        library.espeak_SetParameter(parameter, value, 0)
    text = words.encode()
    library.espeak_Synth(text, len(text) + 1, 0, 0, 0, _ENCODING_UTF8, None, None)
    library.espeak_Synchronize()
    return np.concatenate(pieces), events


def _phonemes(events: list[tuple[int, int, str]]) -> tuple[Phoneme, ...]:
    """Turn events into stretches; pauses only end what is before them."""
    named = [event for event in events if event[1] == _EVENT_PHONEME]
    word_starts = [sample for sample, kind, _ in events if kind == _EVENT_WORD]
    found = []
    for (start, _, name), (end, _, _) in pairwise(named):
        if name.startswith("_") or not name:
            continue
        word = sum(1 for sample in word_starts if sample <= start) - 1
        found.append(Phoneme(name, start / _ESPEAK_RATE_HZ, end / _ESPEAK_RATE_HZ, word))
    return tuple(found)


def speak(words: str, speaker: Speaker) -> Speech:
    """Return a line of words on one pitch, spoken by espeak-ng."""
    raw, events = _collect(words, speaker)
    audio = sps.resample_poly(raw, RATE_HZ // 150, _ESPEAK_RATE_HZ // 150, window=("kaiser", 9.0))
    return Speech(np.asarray(audio, dtype=np.float32)[:, None], _phonemes(events))
