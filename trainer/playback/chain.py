"""Choose an output: PortAudio, then SDL, then a silent clock."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from trainer.errors import BadValue, NoSound
from trainer.playback import portaudio, sdl
from trainer.playback.player import ChainPlayer, Maker
from trainer.playback.silent import KIND as SILENT
from trainer.playback.silent import SilentPlayer
from trainer.playback.stream import Opener, shorten
from trainer.playback.streamed import StreamPlayer
from trainer.ports import Player

ONLY = "EVENHAND_OUTPUT"
KINDS = (portaudio.KIND, sdl.KIND, SILENT)
AS_ASKED = "Sound is off, as asked."


@dataclass(frozen=True)
class OutputFacts:
    """Say what is known of one kind of output.

    Parameters
    ----------
    kind : str
        ``portaudio``, ``sdl`` or ``silent``.
    library : str
        The library with its version; empty if it was not found.
    devices : tuple of str
        Outputs by name.
    default : str
        The output that would be opened.
    rate_hz : int
        The default output's own rate, as far as the system tells; 0 if it does not.
    fault : str
        What is wrong, in one line; empty if nothing is.
    """

    kind: str
    library: str = ""
    devices: tuple[str, ...] = ()
    default: str = ""
    rate_hz: int = 0
    fault: str = ""


def open_player(rate_hz: int, silent: bool = False, prefer: str | None = None) -> Player:
    """Open the best output there is; the last resort is a silent clock, so there always is one.

    The environment variable ``EVENHAND_OUTPUT`` (``portaudio``, ``sdl`` or ``silent``) restricts the
    choice to one kind, for tests; with ``sdl`` even SDL's dummy driver is taken.

    Parameters
    ----------
    rate_hz : int
        The rate of what will be played.
    silent : bool
        Whether to play nothing, without looking for an output.
    prefer : str, optional
        The kind of output to try first.

    Returns
    -------
    Player
        Paused and empty; `output.note` says what was missing.

    Raises
    ------
    BadValue
        If a kind is not one of the three.
    """
    only = _check_kind(ONLY, os.environ.get(ONLY) or None)
    first = _check_kind("prefer", prefer)
    if silent or only == SILENT or (only is None and first == SILENT):
        return SilentPlayer(rate_hz, AS_ASKED)
    openers: dict[str, Opener] = {
        portaudio.KIND: portaudio.open_portaudio,
        sdl.KIND: partial(sdl.open_sdl, dummy_allowed=only == sdl.KIND),
    }
    kinds = [only] if only else sorted(openers, key=lambda kind: kind != first)
    return ChainPlayer([_make(openers[kind]) for kind in kinds], rate_hz)


def _make(opener: Opener) -> Maker:
    """Make a player on an output when its turn comes."""
    return lambda rate_hz: StreamPlayer(opener, rate_hz)


def _check_kind(name: str, kind: str | None) -> str | None:
    """Refuse an unknown kind of output."""
    if kind is not None and kind not in KINDS:
        raise BadValue("sound", name, kind, " or ".join(KINDS))
    return kind


def describe_outputs() -> list[OutputFacts]:
    """Describe every kind of output, for a person who looks for a fault; nothing is opened.

    Returns
    -------
    list of OutputFacts
        PortAudio, SDL, and the silent clock, in the order in which they are tried.
    """
    return [
        _describe(portaudio.KIND, _describe_portaudio),
        _describe(sdl.KIND, _describe_sdl),
        OutputFacts(SILENT, "a clock", ("no output",), "no output"),
    ]


def _describe(kind: str, describe: Callable[[], OutputFacts]) -> OutputFacts:
    """Describe one kind of output, whatever its library does."""
    try:
        return describe()
    except Exception as error:  # a report must never fail
        return OutputFacts(kind, fault=shorten(error))


def _describe_portaudio() -> OutputFacts:
    """Ask PortAudio."""
    sound = portaudio.load_library()
    library = str(sound.get_portaudio_version()[1])
    names = tuple(str(device["name"]) for device in sound.query_devices() if device["max_output_channels"] > 0)
    try:
        _, default, rate_hz, host = portaudio.find_device(sound)
    except NoSound as error:
        return OutputFacts(portaudio.KIND, library, names, fault=str(error))
    return OutputFacts(portaudio.KIND, library, names, f"{default} ({host})", rate_hz)


def _describe_sdl() -> OutputFacts:
    """Ask SDL."""
    audio = sdl.load_library()
    try:
        default = sdl.find_device(audio, sdl.find_library(audio))
    except NoSound as error:
        return OutputFacts(sdl.KIND, sdl.read_version(), fault=str(error))
    names = tuple(str(name) for name in audio.get_audio_device_names(False))
    fault = sdl.DUMMY if os.environ.get("SDL_AUDIODRIVER") == "dummy" else ""
    return OutputFacts(sdl.KIND, sdl.read_version(), names, default, fault=fault)
