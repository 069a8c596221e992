"""Files read in blocks: the same samples as at once, the head's facts, and one line for what cannot be read."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.cli.test_meter import make_bad_files
from trainer.errors import BadValue
from trainer.files.sound_blocks import open_sound


@pytest.mark.parametrize(
    ("kind", "encoding", "bits"),
    [("WAV", "PCM_16", 16), ("WAV", "PCM_24", 24), ("WAV", "FLOAT", 32), ("FLAC", "PCM_24", 24), ("AIFF", "PCM_16", 16),
     ("OGG", "VORBIS", None), ("MP3", "MPEG_LAYER_III", None), ("RF64", "PCM_24", 24)],
)  # fmt: skip
def test_form_and_samples(tmp_path: Path, kind: str, encoding: str, bits: int | None) -> None:
    """Against soundfile's reading of the whole; the suffix does not matter."""
    path = tmp_path / "mix.bin"
    soundfile.write(path, 0.3 * np.random.default_rng(1).standard_normal((50000, 2)), 44100, encoding, format=kind)
    whole, _ = soundfile.read(path, dtype="float32")
    with open_sound(str(path)) as sound:
        blocks = list(sound.read(7000))
        assert sound.form.format == ("WAV" if kind == "RF64" else kind) and sound.form.encoding == encoding
        assert sound.form.bit_depth == bits and sound.form.channels == 2
        assert sound.form.step == (2.0 ** (1 - bits) if bits in (16, 24) else 0.0)
        assert sound.frames_read == whole.shape[0]
        np.testing.assert_array_equal(sound.read_part(100, 50), whole[100:150].T)
    np.testing.assert_array_equal(np.concatenate(blocks, axis=1), whole.T)
    assert all(block.flags.c_contiguous and block.dtype == np.float32 for block in blocks)


def test_what_cannot_be_read_is_one_line(tmp_path: Path) -> None:
    """Missing, folder, text, empty, header only, six channels, 4 kHz, not a number, infinite, no channels."""
    for path in make_bad_files(tmp_path):
        with pytest.raises(BadValue) as caught, open_sound(str(path)) as sound:
            list(sound.read(1000))
        assert "\n" not in str(caught.value) and ", expected " in str(caught.value)


@pytest.mark.parametrize("kind", ["WAV", "FLAC"])
def test_a_file_that_was_cut_off_is_read_as_far_as_it_goes(tmp_path: Path, kind: str) -> None:
    """By construction: half of the bytes; what is there is read, and it is seen that there was more."""
    path = tmp_path / "mix"
    soundfile.write(path, 0.3 * np.random.default_rng(1).standard_normal((96000, 2)), 48000, "PCM_16", format=kind)
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    with open_sound(str(path)) as sound:
        frames = sum(block.shape[1] for block in sound.read(4800))
        assert 30000 < frames < 60000
        assert sound.form.notes or frames < sound.form.frames


def test_where_a_value_is_no_number_is_told(tmp_path: Path) -> None:
    """By construction: at 1.25 s."""
    samples = np.full((96000, 2), 0.1)
    samples[60000, 1] = np.nan
    soundfile.write(tmp_path / "nan.wav", samples, 48000, "FLOAT")
    with pytest.raises(BadValue, match=r"not a number at 1\.250 s"), open_sound(str(tmp_path / "nan.wav")) as sound:
        list(sound.read(4800))
