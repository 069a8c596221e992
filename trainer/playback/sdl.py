"""Output through SDL's audio device, without its mixer; loaded only when a device is opened."""

from __future__ import annotations

import ctypes
import os
from typing import Any

import numpy as np

from trainer.errors import NoSound
from trainer.playback.stream import Fill, end_within, shorten

KIND = "sdl"
BLOCK_MS = 40.0
STOPPED = 0
DUMMY = "SDL: its dummy driver plays nothing"


class SdlStream:
    """A running device.

    Parameters
    ----------
    device : pygame._sdl2.audio.AudioDevice
        An opened device; kept for its whole life.
    library : ctypes.CDLL
        SDL itself, asked whether the device is still there.
    name, note : str
        The device's name, and what a person should know.
    """

    kind = KIND

    def __init__(self, device: Any, library: Any, name: str, note: str) -> None:
        self._device, self._library = device, library
        self.name, self.note = name, note
        self.rate_hz = int(device.frequency)
        # SDL fills one block while another is heard.
        self.latency_s = 2.0 * device.chunksize / self.rate_hz

    def alive(self) -> bool:
        """Tell whether the device is there: SDL goes on asking for blocks after it is lost."""
        return self._status() != STOPPED

    def close(self) -> bool:
        """Close the device."""
        return end_within(self._end)

    def _end(self) -> None:
        """Close without a deadlock.

        pygame keeps the interpreter while SDL waits for its thread to end, and that thread may be waiting
        for the interpreter to fill a block. SDL is therefore asked directly, which lets the interpreter go.
        """
        self._library.SDL_CloseAudioDevice(ctypes.c_uint32(self._device.deviceid))
        self._device.close()

    def _status(self) -> int:
        """Ask SDL for the device's state: 0 stopped or lost, 1 playing, 2 paused."""
        return int(self._library.SDL_GetAudioDeviceStatus(ctypes.c_uint32(self._device.deviceid)))


def load_library() -> Any:
    """Load pygame and start SDL's audio part alone.

    Returns
    -------
    module
        pygame._sdl2.audio.

    Raises
    ------
    NoSound
        If pygame is missing or SDL finds no audio system.
    """
    os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
    try:
        from pygame._sdl2 import audio
        from pygame._sdl2.sdl2 import INIT_AUDIO, init_subsystem
    except (ImportError, OSError) as error:
        raise NoSound(f"SDL: not found ({shorten(error)})") from None
    try:
        init_subsystem(INIT_AUDIO)
    except Exception as error:
        raise NoSound(f"SDL: no audio system ({shorten(error)})") from None
    return audio


def open_sdl(rate_hz: int, fill: Fill, dummy_allowed: bool = False) -> SdlStream:
    """Open the default output and start it; SDL converts the rate where the device has another.

    Parameters
    ----------
    rate_hz : int
        The rate asked for.
    fill : callable
        Fills the blocks.
    dummy_allowed : bool
        Whether SDL's driver that plays nothing is good enough.

    Returns
    -------
    SdlStream
        A running device.

    Raises
    ------
    NoSound
        If there is no SDL, no device, or the device cannot be opened.
    """
    driver = os.environ.get("SDL_AUDIODRIVER", "")
    if driver == "dummy" and not dummy_allowed:
        raise NoSound(DUMMY)
    audio = load_library()
    library = find_library(audio)
    name = find_device(audio, library)

    def answer(device: Any, memory: Any) -> None:
        fill(np.frombuffer(memory, dtype=np.float32).reshape(-1, 2))

    try:
        block_frames = 2 ** round(np.log2(rate_hz * BLOCK_MS / 1000.0))
        device = audio.AudioDevice(name, False, rate_hz, audio.AUDIO_F32, 2, block_frames, 0, answer)
        device.pause(0)
    except Exception as error:
        raise NoSound(f"SDL: {name} could not be opened ({shorten(error)})") from None
    notes = {"dummy": "SDL's dummy driver plays nothing.", "disk": "SDL's disk driver writes to a file."}
    return SdlStream(device, library, name, notes.get(driver, ""))


def find_device(audio: Any, library: Any) -> str:
    """Name the default output, or the first there is."""
    try:
        names = [str(name) for name in audio.get_audio_device_names(False)]
    except Exception as error:
        raise NoSound(f"SDL: devices could not be listed ({shorten(error)})") from None
    if not names:
        raise NoSound("SDL: no output device")
    default = _ask_default(library)
    return default if default in names else names[0]


def find_library(audio: Any) -> Any:
    """Find the SDL that pygame has loaded already.

    Parameters
    ----------
    audio : module
        pygame._sdl2.audio, as from `load_library`.

    Returns
    -------
    ctypes.CDLL
        SDL, whose functions let the interpreter go while they run.

    Raises
    ------
    NoSound
        If it cannot be reached: a device that is opened without it cannot be closed safely.
    """
    # A name is looked for in what pygame's part depends on; Windows gives the library loaded under its own name.
    for name in (audio.__file__, "SDL2.dll"):
        try:
            library = ctypes.CDLL(name)
            library.SDL_CloseAudioDevice, library.SDL_GetAudioDeviceStatus  # noqa: B018
        except (OSError, AttributeError):
            continue
        return library
    raise NoSound("SDL: its own library could not be reached through pygame")


def read_version() -> str:
    """Give SDL's version."""
    import pygame

    return "SDL " + ".".join(str(part) for part in pygame.get_sdl_version())


def _ask_default(library: Any) -> str | None:
    """Ask SDL for the name of its default output; SDL before 2.24 and some drivers do not tell."""
    ask = getattr(library, "SDL_GetDefaultAudioInfo", None)
    if ask is None:
        return None
    name, spec = ctypes.c_char_p(), ctypes.create_string_buffer(64)
    if ask(ctypes.byref(name), spec, 0) != 0 or not name.value:
        return None
    return name.value.decode("utf-8", "replace")
