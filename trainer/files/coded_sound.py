"""Sound in a lossy format: written in small pieces, read back; and the child process that does it.

``python -m trainer.files.coded_sound`` codes files of raw samples for `trainer.files.coding`: native libraries have
crashed on long pieces, and a crash must not take the program with it.
"""

from __future__ import annotations

import json
import os
import queue
import sys
import threading
from collections.abc import Callable
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile

Samples = npt.NDArray[np.float32]

# Vorbis pieces of minutes crash the process (libsndfile issue 1095): a tenth of a second does not.
PIECE_S = 0.1
PROGRESS_STEPS = 100
FORMATS = {"mp3": ("MP3", "MPEG_LAYER_III"), "vorbis": ("OGG", "VORBIS"), "opus": ("OGG", "OPUS")}
MP3_RATES_KBPS = (40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320)
MP3_HIGHEST, MP3_SPAN = 320.0, 288.0
OPUS_HIGHEST, OPUS_SPAN = 512.0, 500.0
# Nominal rates of Vorbis qualities 0 to 10, stereo at 44.1 and 48 kHz.
VORBIS_KBPS = (64.0, 80.0, 96.0, 112.0, 128.0, 160.0, 192.0, 224.0, 256.0, 320.0, 500.0)
RATES_HZ = {"mp3": (44100, 48000), "vorbis": (44100, 48000), "opus": (48000,)}


def encode_file(path: Path, samples: Samples, rate_hz: int, codec: str, rate_kbps: float) -> None:
    """Write a lossy file.

    Parameters
    ----------
    path : Path
        Where.
    samples : ndarray of float32, shape (frames, 2)
        The sound; values above 1.0 are kept as far as the format keeps them.
    rate_hz : int
        44100 or 48000; Opus 48000 only.
    codec : str
        ``mp3``, ``vorbis`` or ``opus``.
    rate_kbps : float
        Nominal rate. MP3 is of constant rate at the format's own rates, else of that average.
    """
    _encode(path, samples, rate_hz, codec, rate_kbps, lambda _: None)


def decode_file(path: Path) -> tuple[Samples, int]:
    """Read a file: samples, shape (frames, 2), and rate, Hz."""
    samples, rate_hz = soundfile.read(str(path), dtype="float32", always_2d=True)
    return samples, int(rate_hz)


def choose_compression(codec: str, rate_kbps: float) -> tuple[float, str | None]:
    """Choose what libsndfile calls compression level, 0 to 1, and bit rate mode."""
    if codec == "mp3":
        mode = "CONSTANT" if rate_kbps in MP3_RATES_KBPS else "AVERAGE"
        return (MP3_HIGHEST - rate_kbps) / MP3_SPAN, mode
    if codec == "opus":
        return (OPUS_HIGHEST - rate_kbps) / OPUS_SPAN, None
    quality = float(np.interp(rate_kbps, VORBIS_KBPS, np.arange(len(VORBIS_KBPS)) / 10))
    return 1.0 - quality, None


def _encode(
    path: Path, samples: Samples, rate_hz: int, codec: str, rate_kbps: float, report: Callable[[float], None]
) -> None:
    """Write in pieces, reporting the share that is done."""
    kind, subtype = FORMATS[codec]
    level, mode = choose_compression(codec, rate_kbps)
    how = {"compression_level": level} | ({"bitrate_mode": mode} if mode else {})
    piece, last = max(1, int(PIECE_S * rate_hz)), 0
    with soundfile.SoundFile(str(path), "w", rate_hz, samples.shape[1], subtype, format=kind, **how) as file:
        for start in range(0, samples.shape[0], piece):
            file.write(samples[start : start + piece])
            done = int(PROGRESS_STEPS * start / samples.shape[0])
            if done > last:
                last = done
                report(done / PROGRESS_STEPS)


def main() -> None:
    """Code files of raw float32 stereo there and back, as asked line by line on standard input, until that ends.

    A line asked is a JSON list: codec, kb/s, rate, and the paths of the samples, the coded file and the decoded
    samples. The lines answered are ``share 0.25`` on the way, then ``done RATE`` or ``failed WHY``.
    """
    asked: queue.Queue[str] = queue.Queue()
    threading.Thread(target=_listen, args=(asked,), daemon=True).start()
    while True:
        codec, rate_kbps, rate_hz, *paths = json.loads(asked.get())
        raw, coded, decoded = (Path(path) for path in paths)
        try:
            samples = np.fromfile(raw, dtype="<f4").reshape(-1, 2)
            _encode(coded, samples, rate_hz, codec, rate_kbps, _tell)
            back, back_hz = decode_file(coded)
            back.astype("<f4").tofile(decoded)
        except (soundfile.LibsndfileError, RuntimeError, OSError, ValueError) as error:
            print("failed", *str(error).split(), flush=True)
        else:
            print("done", back_hz, flush=True)


def _tell(share: float) -> None:
    print(f"share {share:.2f}", flush=True)


def _listen(asked: queue.Queue[str]) -> None:
    """Take lines in; end at once, even in the middle of work, when the other end is gone, however it went."""
    for line in sys.stdin:
        asked.put(line)
    os._exit(0)


if __name__ == "__main__":
    main()
