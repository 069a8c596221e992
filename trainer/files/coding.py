"""Lossy coding there and back, in a child process with a time limit."""

from __future__ import annotations

import contextlib
import json
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable
from pathlib import Path

import numpy as np

from trainer.audio.clip import Clip
from trainer.audio.resampling import resample_clip
from trainer.errors import BadValue, EvenhandError
from trainer.files.coded_sound import MP3_RATES_KBPS, RATES_HZ
from trainer.files.realignment import realign

Progress = Callable[[float], None]

LEAST_LIMIT_S = 30.0
LIMIT_PER_S = 1.0
# Encoders need something to work on: shorter clips are followed by silence, which is cut off again.
SHORTEST_S = 0.5
BOUNDS_KBPS = {"mp3": (40.0, 320.0), "vorbis": (64.0, 500.0), "opus": (16.0, 450.0)}
ORDINARY_KBPS: dict[str, tuple[int, ...]] = {
    "mp3": MP3_RATES_KBPS,
    "vorbis": (64, 80, 96, 112, 128, 160, 192, 224, 256, 320, 500),
    "opus": (16, 24, 32, 48, 64, 96, 128, 160, 192, 256, 320, 450),
}
MODULE = "trainer.files.coded_sound"


def list_rates(codec: str) -> tuple[int, ...]:
    """List the rates at which a codec is ordinarily used, kb/s, lowest first.

    Raises
    ------
    BadValue
        If there is no such codec.
    """
    if codec not in ORDINARY_KBPS:
        raise BadValue("coding", "codec", codec, f"one of {', '.join(ORDINARY_KBPS)}")
    return ORDINARY_KBPS[codec]


class ChildCoder:
    """Code clips in a child process, which is started at the first and ends with this one, or with `close`.

    It fits `trainer.dsp.delivery.coding.Coder`. Use it from one thread at a time; it can be sent to another process
    before it was used. After a crash the next clip gets a new child.
    """

    def __init__(self) -> None:
        self._child: subprocess.Popen[str] | None = None

    def __call__(self, clip: Clip, codec: str, rate_kbps: float, progress: Progress | None = None) -> Clip:
        """Code a clip and decode it again.

        Parameters
        ----------
        clip : Clip
            The sound; values above full scale are kept.
        codec : str
            ``mp3``, ``vorbis`` or ``opus``.
        rate_kbps : float
            Nominal rate: MP3 40 to 320, Vorbis 64 to 500, Opus 16 to 450.
        progress : callable, optional
            Told the share that is done, 0 to 1, from this thread.

        Returns
        -------
        Clip
            As long, at the same rate, in step to the sample. Opus works at 48 kHz, and every codec at 44.1 or
            48 kHz: other clips are converted there and back.

        Raises
        ------
        EvenhandError
            If the rate or codec is another, the child process crashes or takes too long, or the result is not in
            step.
        """
        list_rates(codec)
        low, high = BOUNDS_KBPS[codec]
        if not low <= rate_kbps <= high:
            raise BadValue(codec, "rate_kbps", f"{rate_kbps:g}", f"{low:g} to {high:g}")
        if not clip.samples.any():
            return clip
        coded_hz = clip.rate_hz if clip.rate_hz in RATES_HZ[codec] else 48000
        source = _lengthen(resample_clip(clip, coded_hz))
        decoded = resample_clip(self._code(source, codec, rate_kbps, progress or (lambda _: None)), coded_hz)
        stepped = Clip(realign(source.samples, decoded.samples, coded_hz, codec), coded_hz)
        back = resample_clip(stepped, clip.rate_hz).samples
        return clip.with_samples(back[: clip.frames])

    def __enter__(self) -> ChildCoder:
        """Use it for a while."""
        return self

    def __exit__(self, *_: object) -> None:
        """End the child."""
        self.close()

    def close(self) -> None:
        """End the child, if there is one."""
        child, self._child = self._child, None
        if child is None:
            return
        child.kill()
        for pipe in (child.stdin, child.stdout):
            if pipe is not None:
                # What could not be sent to a child that has crashed is of no use any more.
                with contextlib.suppress(OSError):
                    pipe.close()
        child.wait()

    def _code(self, clip: Clip, codec: str, rate_kbps: float, progress: Progress) -> Clip:
        """Have the child write and read the file."""
        limit_s = LEAST_LIMIT_S + LIMIT_PER_S * clip.duration_s
        with tempfile.TemporaryDirectory(prefix="evenhand-", ignore_cleanup_errors=True) as folder:
            raw, coded, decoded = (Path(folder) / name for name in ("raw", "coded", "decoded"))
            try:
                clip.samples.astype("<f4").tofile(raw)
            except OSError:
                raise EvenhandError(f"{codec}: temporary_file=not written, expected room on the disk") from None
            asked = json.dumps([codec, rate_kbps, clip.rate_hz, str(raw), str(coded), str(decoded)])
            rate_hz = self._ask(codec, asked, limit_s, progress)
            samples = np.fromfile(decoded, dtype="<f4").reshape(-1, 2)
        progress(1.0)
        return Clip(np.ascontiguousarray(samples, dtype=np.float32), rate_hz)

    def _ask(self, codec: str, asked: str, limit_s: float, progress: Progress) -> int:
        """Ask the child and pass its progress on; a native crash there is a line of words here."""
        child = self._start(codec)
        late = threading.Event()
        watch = threading.Timer(limit_s, _end_late, (child, late))
        watch.daemon = True
        watch.start()
        try:
            return _converse(child, codec, asked, progress)
        except _Ended:
            code = child.wait()
            self.close()
            if late.is_set():
                raise EvenhandError(f"{codec}: time_s=over {limit_s:.0f}, expected an encoder done by then") from None
            raise EvenhandError(f"{codec}: process=ended with {code}, expected the encoder to finish") from None
        except BaseException:
            # Whoever asks next must not be given what was answered to this.
            self.close()
            raise
        finally:
            watch.cancel()

    def _start(self, codec: str) -> subprocess.Popen[str]:
        """Give the child that runs, or start one."""
        if self._child is not None and self._child.poll() is None:
            return self._child
        self.close()
        try:
            self._child = subprocess.Popen(
                [sys.executable, "-m", MODULE],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                cwd=Path(__file__).parents[2],
                text=True,
                encoding="utf-8",
            )
        except OSError:
            raise EvenhandError(f"{codec}: process=not started, expected a Python that can be run") from None
        return self._child


def code_clip(clip: Clip, codec: str, rate_kbps: float, progress: Progress | None = None) -> Clip:
    """Code one clip in a child process of its own; see `ChildCoder`."""
    with ChildCoder() as coder:
        return coder(clip, codec, rate_kbps, progress)


def _lengthen(clip: Clip) -> Clip:
    """Put silence behind a clip that is too short to be coded."""
    missing = int(SHORTEST_S * clip.rate_hz) - clip.frames
    return clip if missing <= 0 else clip.with_samples(np.pad(clip.samples, ((0, missing), (0, 0))))


class _Ended(Exception):
    """The child ended before it had answered."""


def _converse(child: subprocess.Popen[str], codec: str, asked: str, progress: Progress) -> int:
    """Send what is asked and read the answer: the rate of what was decoded, Hz."""
    assert child.stdin is not None and child.stdout is not None
    try:
        child.stdin.write(asked + "\n")
        child.stdin.flush()
    except OSError:
        raise _Ended from None
    for line in child.stdout:
        word, _, rest = line.strip().partition(" ")
        if word == "share":
            progress(float(rest))
        elif word == "done":
            return int(rest)
        elif word == "failed":
            raise EvenhandError(f"{codec}: encoder={rest or 'failed'}, expected it to finish; try another rate")
    raise _Ended


def _end_late(child: subprocess.Popen[str], late: threading.Event) -> None:
    late.set()
    child.kill()
