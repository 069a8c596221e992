"""The choice of an output: libraries that are missing, devices that are missing, and what is asked for."""

from __future__ import annotations

import gc
import sys
from pathlib import Path

import pytest

from trainer.errors import BadValue, NoSound
from trainer.playback import portaudio, sdl
from trainer.playback.chain import AS_ASKED, ONLY, describe_outputs, open_player
from trainer.playback.process import SWITCH_INTERVAL_S, prepare_process

from .children import Steps, run_steps
from .signals import make_counting

LOOK: Steps = [["load"], ["play"], ["wait", 0.1], ["note"]]
NO_SERVER = {"SDL_AUDIODRIVER": "pulseaudio", "PULSE_SERVER": "unix:/nonexistent"}


def test_without_portaudio_sdl_plays_and_says_what_is_missing(tmp_path: Path) -> None:
    """The library is not installed: the note names it, on Linux with the package, and SDL plays."""
    environment = {"SDL_AUDIODRIVER": "disk", "SDL_DISKAUDIOFILE": str(tmp_path / "written.raw")}
    report = run_steps(tmp_path, LOOK, make_counting(1, 5000), 48000, environment, library_error=True, describe=True)
    output = report["notes"][0]["output"]
    assert output["kind"] == "sdl"
    assert "PortAudio" in output["note"]
    assert "Sound goes through SDL instead." in output["note"]
    assert "\n" not in output["note"]
    first, second, third = report["facts"]
    assert [first["kind"], second["kind"], third["kind"]] == ["portaudio", "sdl", "silent"]
    assert first["fault"]
    assert second["library"].startswith("SDL 2")
    assert second["devices"]
    if sys.platform.startswith("linux"):
        assert "libportaudio2" in output["note"]
        assert "libportaudio2" in first["fault"]


@pytest.mark.parametrize("library_error", [True, False])
def test_with_no_output_at_all_the_clock_runs_and_says_so(tmp_path: Path, library_error: bool) -> None:
    """Neither library finds a device: silence, with both reasons and what to do, in one line."""
    report = run_steps(
        tmp_path,
        LOOK,
        make_counting(1, 50000),
        48000,
        NO_SERVER,
        library_error=library_error,
        no_device=True,
        describe=True,
    )
    note = report["notes"][0]
    assert note["output"]["kind"] == "silent"
    text = note["output"]["note"]
    assert text.startswith("No sound output was found (PortAudio: ")
    assert "SDL: " in text
    assert text.endswith("Plug in an output and restart, or run evenhand doctor in a terminal.")
    assert "\n" not in text
    assert note["head"]["frame"] > 1000
    assert all(fact["fault"] for fact in report["facts"][:2])


def test_the_dummy_driver_does_not_pass_for_sound(monkeypatch: pytest.MonkeyPatch) -> None:
    """Unasked, SDL's dummy driver is refused before SDL is even started."""
    monkeypatch.setenv("SDL_AUDIODRIVER", "dummy")
    with pytest.raises(NoSound, match="dummy driver plays nothing"):
        sdl.open_sdl(48000, lambda block, underflow=False: None)


def test_the_dummy_driver_is_taken_when_sdl_is_asked_for(tmp_path: Path) -> None:
    """Restricted to SDL, its dummy driver runs as an output, and the note says what it is."""
    asked = {"SDL_AUDIODRIVER": "dummy", ONLY: "sdl"}
    note = run_steps(tmp_path, LOOK, make_counting(1, 5000), 48000, asked)["notes"][0]
    assert note["output"]["kind"] == "sdl"
    assert "dummy driver plays nothing" in note["output"]["note"]


def test_silence_can_be_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """By argument, by preference, or by the environment; none of them looks for a device."""
    monkeypatch.delenv(ONLY, raising=False)
    assert open_player(48000, silent=True).output.note == AS_ASKED
    assert open_player(48000, prefer="silent").output.silent
    monkeypatch.setenv(ONLY, "silent")
    output = open_player(44100, prefer="sdl").output
    assert output.silent
    assert output.rate_hz == 44100


def test_unknown_kinds_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """The error names the value and what it may be."""
    monkeypatch.delenv(ONLY, raising=False)
    with pytest.raises(BadValue, match="sound: prefer=tape, expected portaudio or sdl or silent"):
        open_player(48000, prefer="tape")
    monkeypatch.setenv(ONLY, "tape")
    with pytest.raises(BadValue, match=f"sound: {ONLY}=tape"):
        open_player(48000)


def test_describing_never_raises(monkeypatch: pytest.MonkeyPatch) -> None:
    """A library that fails in an unforeseen way becomes a fault of one line."""

    def fail() -> None:
        raise RuntimeError("first line\nsecond line")

    monkeypatch.setattr("trainer.playback.portaudio.load_library", fail)
    monkeypatch.setattr("trainer.playback.sdl.load_library", fail)
    facts = describe_outputs()
    assert [fact.fault for fact in facts] == ["first line second line", "first line second line", ""]


def test_the_process_is_prepared() -> None:
    """Threads take turns every 0.5 ms, and what is alive is left out of later collections."""
    interval_s = sys.getswitchinterval()
    try:
        prepare_process()
        assert sys.getswitchinterval() == pytest.approx(SWITCH_INTERVAL_S)
        assert gc.get_freeze_count() > 1000
    finally:
        sys.setswitchinterval(interval_s)
        gc.unfreeze()


class StandInSound:
    """Stand in for the library of a computer with one output, which takes some rates and not others."""

    class WasapiSettings:
        """Ask the system to convert."""

        def __init__(self, auto_convert: bool) -> None:
            self.auto_convert = auto_convert

    class default:
        """No choice of the person's."""

        device = (-1, -1)

    def __init__(self, host: str, rates: set[int], converts: bool) -> None:
        self._host, self._rates, self._converts = host, rates, converts
        self.tried: list[tuple[int, bool]] = []

    def query_devices(self) -> list[dict[str, object]]:
        """List an input and an output."""
        common = {"hostapi": 0, "default_samplerate": 48000.0}
        return [
            common | {"name": "input", "max_output_channels": 0},
            common | {"name": "speakers", "max_output_channels": 2},
        ]

    def query_hostapis(self) -> list[dict[str, object]]:
        """List one host API."""
        return [{"name": self._host, "default_output_device": 1}]

    def OutputStream(self, **asked: object) -> object:
        """Open, or refuse the rate."""
        rate_hz, settings = asked["samplerate"], asked["extra_settings"]
        assert isinstance(rate_hz, int)
        self.tried.append((rate_hz, settings is not None))
        assert (asked["device"], asked["latency"], asked["blocksize"]) == (1, 0.1, 256)
        if rate_hz not in self._rates and not (settings is not None and self._converts):
            raise OSError("Invalid sample rate [PaErrorCode -9997]")

        opened_hz = float(rate_hz)

        class Stream:
            """Run at the rate asked for."""

            samplerate, latency = opened_hz, 0.1

            def start(self) -> None:
                """Start."""

        return Stream()


@pytest.mark.parametrize(
    ("host", "rates", "converts", "opened_hz", "tried"),
    [
        ("ALSA", {44100, 48000}, False, 44100, [(44100, False)]),
        ("Windows WASAPI", {48000}, True, 44100, [(44100, False), (44100, True)]),
        ("Windows WASAPI", {48000}, False, 48000, [(44100, False), (44100, True), (48000, False)]),
        ("Core Audio", {48000}, False, 48000, [(44100, False), (48000, False)]),
    ],
)
def test_rates_are_tried_in_order(
    monkeypatch: pytest.MonkeyPatch,
    host: str,
    rates: set[int],
    converts: bool,
    opened_hz: int,
    tried: list[tuple[int, bool]],
) -> None:
    """The rate asked for, then with the system converting on WASAPI, then the output's own."""
    sound = StandInSound(host, rates, converts)
    monkeypatch.setattr(portaudio, "load_library", lambda: sound)
    stream = portaudio.open_portaudio(44100, lambda block, underflow=False: None)
    assert stream.rate_hz == opened_hz
    assert stream.name == "speakers"
    assert sound.tried == tried
    assert bool(stream.note) == (len(tried) > 1)


def test_an_output_that_takes_no_rate_is_no_sound(monkeypatch: pytest.MonkeyPatch) -> None:
    """The error gives the device and the library's first reason in one line."""
    sound = StandInSound("ALSA", set(), converts=False)
    monkeypatch.setattr(portaudio, "load_library", lambda: sound)
    with pytest.raises(NoSound, match=r"PortAudio: speakers could not be opened \(Invalid sample rate"):
        portaudio.open_portaudio(44100, lambda block, underflow=False: None)
