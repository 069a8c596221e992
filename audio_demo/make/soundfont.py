"""Render a part dry with the FluidSynth command line and the FluidR3 GM sound font."""

from __future__ import annotations

import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import soundfile as sf

from .midi import midi_bytes
from .score import Note
from .signal import RATE_HZ, Audio

SOUND_FONT = Path("/usr/share/sounds/sf2/FluidR3_GM.sf2")
# FluidSynth's own gain; low enough that no part reaches full scale, and float output anyway.
_GAIN = "0.4"


def play(notes: Sequence[Note], *, program: int, seconds: float, drums: bool = False, cents: float = 0.0) -> Audio:
    """Return a part as the sound font plays it, without reverb or chorus.

    Parameters
    ----------
    notes : sequence of Note
        The part.
    program : int
        0–127, General MIDI instrument, or drum kit when ``drums`` is set.
    seconds : float
        Length of the result in seconds.
    drums : bool
        Play a drum kit.
    cents : float
        −200–200, fixed detuning.

    Returns
    -------
    Audio
        Shape (frames, 2), at 48 kHz.
    """
    frames = round(seconds * RATE_HZ)
    with tempfile.TemporaryDirectory() as folder:
        score, wave = Path(folder, "part.mid"), Path(folder, "part.wav")
        score.write_bytes(midi_bytes(notes, program=program, drums=drums, cents=cents, end_s=seconds))
        settings = ["-r", str(RATE_HZ), "-g", _GAIN, "-R", "0", "-C", "0", "-O", "float", "-T", "wav"]
        command = ["fluidsynth", "-n", "-i", "-q", *settings, "-F", str(wave), str(SOUND_FONT), str(score)]
        subprocess.run(command, check=True, capture_output=True)
        audio, _ = sf.read(wave, dtype="float32", always_2d=True)
    out = np.zeros((frames, 2), dtype=np.float32)
    out[: len(audio)] = audio[:frames]
    return out
