"""A private PulseAudio daemon with a null sink, on which PortAudio and SDL play for real.

It has its own socket and folders and needs no D-Bus, no sound card and no home folder; ALSA's default is
routed into it. Samples are float32 from end to end, so a capture is exact bit by bit. `norewinds=1` keeps
the idle sink from rendering seconds of silence ahead, which would hold the first stream up.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np

from .signals import Samples

TOOLS = ("pulseaudio", "parec", "pactl")
START_LIMIT_S = 8.0

DAEMON = """\
default-sample-format = float32le
default-sample-rate = {rate_hz}
alternate-sample-rate = {rate_hz}
avoid-resampling = yes
realtime-scheduling = no
high-priority = no
exit-idle-time = -1
flat-volumes = no
enable-shm = no
"""
SCRIPT = """\
load-module module-native-protocol-unix auth-anonymous=1 socket={folder}/run/native
load-module module-null-sink sink_name=bench rate={rate_hz} format=float32le channels=2 \
channel_map=front-left,front-right norewinds=1
set-default-sink bench
set-default-source bench.monitor
"""
ROUTES = """\
</usr/share/alsa/alsa.conf>
pcm.!default {{ type pulse server "unix:{folder}/run/native" hint {{ show on description "bench" }} }}
ctl.!default {{ type pulse server "unix:{folder}/run/native" }}
"""


def is_installed() -> bool:
    """Tell whether the daemon and its tools are there."""
    return all(shutil.which(tool) for tool in TOOLS)


class PrivatePulse:
    """A running daemon of our own.

    Parameters
    ----------
    folder : Path
        Holds its files; the path of the socket must be short.
    rate_hz : int
        The sink's rate.
    """

    def __init__(self, folder: Path, rate_hz: int) -> None:
        self.folder, self.rate_hz = folder, rate_hz
        for name in ("run", "state", "home"):
            (folder / name).mkdir(mode=0o700)
        for name, text in (("daemon.conf", DAEMON), ("default.pa", SCRIPT), ("asoundrc", ROUTES)):
            (folder / name).write_text(text.format(folder=folder, rate_hz=rate_hz))
        no_bus = f"unix:path={folder}/no-bus"
        self.environment = {
            "ALSA_CONFIG_PATH": str(folder / "asoundrc"),
            "PULSE_SERVER": f"unix:{folder}/run/native",
            "PULSE_RUNTIME_PATH": str(folder / "run"),
            "PULSE_STATE_PATH": str(folder / "state"),
            "PULSE_CONFIG": str(folder / "daemon.conf"),
            "HOME": str(folder / "home"),
            "DBUS_SYSTEM_BUS_ADDRESS": no_bus,
            "DBUS_SESSION_BUS_ADDRESS": no_bus,
        }
        script = ["-n", "-F", str(folder / "default.pa"), "--daemonize=no", "--use-pid-file=no"]
        with (folder / "log").open("wb") as log:
            self.daemon = subprocess.Popen(
                ["pulseaudio", *script, "--exit-idle-time=-1"],
                env={**os.environ, **self.environment},
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
            )

    def wait_until_up(self) -> bool:
        """Wait until the daemon answers."""
        end_s = time.monotonic() + START_LIMIT_S
        while time.monotonic() < end_s and self.daemon.poll() is None:
            if self.control("info"):
                return True
            time.sleep(0.05)
        return False

    def control(self, *words: str) -> bool:
        """Tell the daemon something with pactl."""
        done = subprocess.run(
            ["pactl", *words],
            env={**os.environ, **self.environment},
            capture_output=True,
            check=False,
            timeout=5,
        )
        return done.returncode == 0

    def stop(self) -> None:
        """End this one daemon."""
        self.daemon.kill()
        self.daemon.wait(5)

    @contextmanager
    def capture(self) -> Iterator[list[Samples]]:
        """Record what the sink plays; the list holds the sound afterwards."""
        heard: list[Samples] = []
        written = self.folder / "captured.raw"
        layout = ["--format=float32le", f"--rate={self.rate_hz}", "--channels=2", "--latency-msec=20"]
        with written.open("wb") as raw:
            recorder = subprocess.Popen(
                ["parec", "--device=bench.monitor", "--raw", *layout],
                env={**os.environ, **self.environment},
                stdout=raw,
            )
            time.sleep(0.3)
            try:
                yield heard
                time.sleep(0.2)
            finally:
                recorder.terminate()
                recorder.wait(5)
        sound = np.fromfile(written, dtype=np.float32)
        heard.append(sound[: len(sound) // 2 * 2].reshape(-1, 2))


@contextmanager
def run_pulse(rate_hz: int = 48000) -> Iterator[PrivatePulse]:
    """Run a daemon for as long as the block lasts."""
    folder = Path(tempfile.mkdtemp(prefix="evenhand-"))
    pulse = PrivatePulse(folder, rate_hz)
    try:
        if not pulse.wait_until_up():
            raise RuntimeError((folder / "log").read_text(errors="replace"))
        yield pulse
    finally:
        pulse.stop()
        shutil.rmtree(folder, ignore_errors=True)
