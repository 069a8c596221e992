"""Output through PortAudio, loaded only when a device is opened."""

from __future__ import annotations

import atexit
import sys
from typing import Any

from trainer.errors import NoSound
from trainer.playback.stream import Fill, end_within, shorten

KIND = "portaudio"
LATENCY_S = 0.1
BLOCK_FRAMES = 256
MISSING = "PortAudio: library not found"
LINUX_ADVICE = " (install the package libportaudio2)"


class PortAudioStream:
    """A running stream: zeros between trials, never stopped until it is closed.

    Parameters
    ----------
    sound : module
        The loaded sounddevice module.
    stream : sounddevice.OutputStream
        An opened stream; kept for its whole life.
    name : str
        The device's name.
    note : str
        What a person should know.
    """

    kind = KIND

    def __init__(self, sound: Any, stream: Any, name: str, note: str) -> None:
        self._sound, self._stream = sound, stream
        self.name, self.note = name, note
        self.rate_hz = round(float(stream.samplerate))
        self.latency_s = float(stream.latency)

    def alive(self) -> bool:
        """Tell whether PortAudio still calls the stream active."""
        try:
            return bool(self._stream.active)
        except Exception:
            return False

    def close(self) -> bool:
        """Close without waiting for what is still to be heard; an old library may hang on a lost device."""
        # At exit the library closes what is open, and would wait for a hanging stream for ever.
        farewell = getattr(self._sound, "_exit_handler", None)
        if farewell is not None:
            atexit.unregister(farewell)
        ended = end_within(self._end)
        if ended and farewell is not None:
            atexit.register(farewell)
        return ended

    def _end(self) -> None:
        """Abort and close: a gentle stop hangs on a sink that the system has suspended."""
        try:
            self._stream.abort()
        finally:
            self._stream.close()


def load_library() -> Any:
    """Load PortAudio.

    Returns
    -------
    module
        sounddevice.

    Raises
    ------
    NoSound
        If the module or the library is missing, or does not start.
    """
    try:
        import sounddevice
    except (ImportError, OSError):
        raise NoSound(MISSING + (LINUX_ADVICE if sys.platform.startswith("linux") else "")) from None
    except Exception as error:
        raise NoSound(f"PortAudio: did not start ({shorten(error)})") from None
    return sounddevice


def open_portaudio(rate_hz: int, fill: Fill) -> PortAudioStream:
    """Open the default output and start it.

    Tried in turn: the rate asked for; the same with the system converting (WASAPI); the device's own rate.

    Parameters
    ----------
    rate_hz : int
        The rate asked for.
    fill : callable
        Fills the blocks.

    Returns
    -------
    PortAudioStream
        A running stream; `rate_hz` may differ from the rate asked for.

    Raises
    ------
    NoSound
        If there is no library, no device, or the device cannot be opened.
    """
    sound = load_library()
    device, name, own_rate_hz, host = find_device(sound)
    attempts: list[tuple[int, Any, str]] = [(rate_hz, None, "")]
    if "WASAPI" in host:
        settings = sound.WasapiSettings(auto_convert=True)
        attempts.append((rate_hz, settings, f"The system converts {rate_hz} Hz to the rate of the output."))
    if own_rate_hz != rate_hz:
        note = f"The output runs at {own_rate_hz} Hz: sound is converted from {rate_hz} Hz."
        attempts.append((own_rate_hz, None, note))
    reason = ""
    for rate, settings, note in attempts:
        try:
            return PortAudioStream(sound, _start(sound, device, rate, settings, fill), name, note)
        except Exception as error:
            reason = reason or shorten(error)
    raise NoSound(f"PortAudio: {name} could not be opened ({reason})")


def find_device(sound: Any) -> tuple[int, str, int, str]:
    """Find the default output, or the first there is: index, name, its rate in Hz, host API."""
    try:
        devices = list(sound.query_devices())
        hosts = [str(host["name"]) for host in sound.query_hostapis()]
        outputs = [index for index, device in enumerate(devices) if device["max_output_channels"] > 0]
        asked = int(sound.default.device[1])
        first = [host["default_output_device"] for host in sound.query_hostapis()]
    except Exception as error:
        raise NoSound(f"PortAudio: devices could not be listed ({shorten(error)})") from None
    chosen = next((index for index in [asked, *first, *outputs] if index in outputs), None)
    if chosen is None:
        raise NoSound("PortAudio: no output device")
    found = devices[chosen]
    return chosen, str(found["name"]), round(found["default_samplerate"]), hosts[found["hostapi"]]


def _start(sound: Any, device: int, rate_hz: int, settings: Any, fill: Fill) -> Any:
    """Open and start a stream; closed again if it does not start."""

    def answer(block: Any, frames: int, time: Any, status: Any) -> None:
        fill(block, bool(status) and bool(status.output_underflow))

    stream = sound.OutputStream(
        samplerate=rate_hz,
        device=device,
        channels=2,
        dtype="float32",
        latency=LATENCY_S,
        blocksize=BLOCK_FRAMES,
        extra_settings=settings,
        callback=answer,
    )
    try:
        stream.start()
    except Exception:
        end_within(stream.close)
        raise
    return stream
