"""Coding there and back with the real codecs: in step, as long, and crash-proof.

The independent decoder is ffmpeg's; rates are read from the files' own frames.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from scipy.signal import correlate

from tests.dsp.delivery.weighting import k_power
from tests.measure.sounds import music_like
from trainer.audio.clip import Clip
from trainer.dsp.delivery.coding import make_coding_moves
from trainer.errors import EvenhandError
from trainer.files import coding
from trainer.files.coded_sound import decode_file, encode_file
from trainer.files.coding import BOUNDS_KBPS, ChildCoder, code_clip, list_rates
from trainer.files.realignment import measure_rest, realign

MPEG_1_LAYER_3_KBPS = (0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320)


def _song(seconds: float = 3.0, rate_hz: int = 48000) -> Clip:
    return Clip(music_like(int(seconds * rate_hz), rate_hz, 9).astype(np.float32), rate_hz)


@pytest.fixture(scope="module")
def coder() -> Iterator[ChildCoder]:
    """Give one child for all tests that need no other."""
    with ChildCoder() as coder:
        yield coder


def _find_lag(before: np.ndarray, after: np.ndarray) -> int:
    """Delay of one sound against another, by plain correlation of all of both."""
    fit = correlate(after[:, 0].astype(np.float64), before[:, 0].astype(np.float64), "full", "fft")
    return int(fit.argmax()) - (before.shape[0] - 1)


@pytest.mark.parametrize(
    ("codec", "rate_kbps", "rate_hz"),
    [("mp3", 128, 48000), ("mp3", 48, 48000), ("mp3", 137, 44100), ("vorbis", 96, 44100), ("opus", 64, 44100)],
)
def test_there_and_back_in_step(coder: ChildCoder, codec: str, rate_kbps: float, rate_hz: int) -> None:
    """As long, not late by one sample nor by a tenth of one, like the song and yet not the same."""
    song = _song(3.0, rate_hz)
    back = coder(song, codec, rate_kbps)
    assert back.samples.shape == song.samples.shape and back.rate_hz == rate_hz
    assert _find_lag(song.samples, back.samples) == 0
    rest, doubt = measure_rest(song.samples, back.samples, rate_hz)
    assert abs(rest) < 0.05 and doubt < 0.05
    error = float(np.sqrt(np.mean((back.samples - song.samples) ** 2) / np.mean(song.samples**2)))
    assert 0.003 < error < 0.4


def test_values_above_full_scale_come_back(coder: ChildCoder) -> None:
    """Floats above 1.0 are kept: an over that is only in the file's numbers is not clipped by coding."""
    song = _song(1.0)
    loud = song.with_samples(song.samples * np.float32(2.0 / np.abs(song.samples).max()))
    for codec in ("mp3", "vorbis", "opus"):
        assert np.abs(coder(loud, codec, 256).samples).max() > 1.5


def test_another_decoder_gives_the_same_sound(tmp_path: Path) -> None:
    """ffmpeg decodes the written files: in step with what libsndfile decodes, and within −60 dB of it.

    Its own Opus decoder is another implementation: −50 dB, still 20 to 30 dB below what coding changes.
    """
    program = shutil.which("ffmpeg")
    if program is None:
        pytest.skip("ffmpeg is not installed")
    song = _song()
    for codec, suffix in (("mp3", "mp3"), ("vorbis", "ogg"), ("opus", "opus")):
        path = tmp_path / f"song.{suffix}"
        encode_file(path, song.samples, 48000, codec, 128)
        command = [program, "-v", "error", "-i", str(path), "-f", "f32le", "-ar", "48000", "-ac", "2", "-"]
        theirs = np.frombuffer(subprocess.run(command, capture_output=True, check=True).stdout, "<f4").reshape(-1, 2)
        ours, rate_hz = decode_file(path)
        assert rate_hz == 48000
        ours, theirs = (realign(song.samples, np.asarray(x, np.float32), 48000, codec) for x in (ours, theirs))
        middle = slice(4800, -4800)
        difference = np.mean((ours[middle] - theirs[middle]) ** 2) / np.mean(ours[middle] ** 2)
        assert difference < (1e-5 if codec == "opus" else 1e-6), codec


@pytest.mark.parametrize("rate_kbps", [64, 128, 320])
def test_mp3_frames_carry_the_rate(tmp_path: Path, rate_kbps: int) -> None:
    """Read from the frames' headers (ISO/IEC 11172-3, 2.4.2.3; the table of rates from memory): constant, as asked."""
    path = tmp_path / "song.mp3"
    encode_file(path, _song(1.0).samples, 48000, "mp3", rate_kbps)
    data, found = path.read_bytes(), set()
    at = data.index(b"\xff\xfb")
    while at + 4 < len(data) and data[at] == 0xFF:
        index, padding = data[at + 2] >> 4, (data[at + 2] >> 1) & 1
        found.add(MPEG_1_LAYER_3_KBPS[index])
        at += 144 * MPEG_1_LAYER_3_KBPS[index] * 1000 // 48000 + padding
    assert found == {rate_kbps}


@pytest.mark.parametrize("codec", ["mp3", "vorbis", "opus"])
def test_files_are_as_large_as_their_rate(tmp_path: Path, codec: str) -> None:
    """Size over time: 160 kb/s within a quarter for the codecs that only aim at a rate."""
    path = tmp_path / "song"
    encode_file(path, _song().samples, 48000, codec, 160)
    assert path.stat().st_size * 8 / 3.0 / 1000 == pytest.approx(160, rel=0.25)


def test_a_long_vorbis_file_does_not_crash() -> None:
    """Two minutes written at once end the process (libsndfile issue 1095); in pieces they do not."""
    song = Clip(np.tile(_song(2.0).samples, (60, 1)), 48000)
    shares: list[float] = []
    back = code_clip(song, "vorbis", 128, shares.append)
    assert back.frames == song.frames
    assert len(shares) > 20 and shares == sorted(shares) and shares[-1] == 1.0


def test_a_crash_and_a_hang_are_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    """A native crash in the child, one that never ends, one that ends without a result: an error that can be read.

    After each the coder works again.
    """
    with ChildCoder() as coder:
        for rate_kbps, word in ((64, "process="), (96, "time_s="), (128, "process=")):
            with monkeypatch.context() as patch:
                patch.setattr(coding, "MODULE", "tests.files.crashing_coder")
                patch.setattr(coding, "LEAST_LIMIT_S", 2.0)
                patch.setattr(coding, "LIMIT_PER_S", 0.0)
                coder.close()
                with pytest.raises(EvenhandError, match=word) as caught:
                    coder(_song(1.0), "vorbis", rate_kbps)
            assert "\n" not in str(caught.value)
        assert coder(_song(1.0), "vorbis", 128).frames == 48000


def test_an_encoder_that_refuses_is_one_line(monkeypatch: pytest.MonkeyPatch, coder: ChildCoder) -> None:
    """libsndfile's own refusal (MP3 has no 31 kb/s at this level) comes back as a line, and the child goes on."""
    monkeypatch.setitem(BOUNDS_KBPS, "mp3", (1.0, 320.0))
    with pytest.raises(EvenhandError, match="encoder="):
        coder(_song(1.0), "mp3", 31)
    assert coder(_song(1.0), "mp3", 128).frames == 48000


def test_progress_may_stop_it(coder: ChildCoder) -> None:
    """An error out of the progress callback ends the coding, and the next one is answered for itself."""

    def stop(share: float) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        coder(_song(3.0), "mp3", 128, stop)
    song = _song(1.0)
    assert coder(song, "opus", 128).frames == song.frames


def test_the_child_ends_when_its_parent_is_killed() -> None:
    """However the parent ends: its end of the pipe is gone, and the child with it."""
    script = (
        "import sys, numpy as np, time\n"
        "from trainer.audio.clip import Clip\n"
        "from trainer.files.coding import ChildCoder\n"
        "coder = ChildCoder()\n"
        "coder(Clip(np.full((48000, 2), 0.1, np.float32), 48000), 'vorbis', 128)\n"
        "print(coder._child.pid, flush=True)\n"
        "time.sleep(60)\n"
    )
    parent = subprocess.Popen(
        [sys.executable, "-c", script], stdout=subprocess.PIPE, text=True, cwd=Path(__file__).parents[2]
    )
    assert parent.stdout is not None
    child = int(parent.stdout.readline())
    parent.kill()
    parent.wait()
    parent.stdout.close()
    for _ in range(100):
        try:
            os.kill(child, 0)
        except ProcessLookupError:
            return
        if Path(f"/proc/{child}/stat").exists() and ") Z" in Path(f"/proc/{child}/stat").read_text():
            return
        time.sleep(0.05)
    pytest.fail("the child is still there")


@pytest.mark.parametrize("codec", ["mp3", "vorbis", "opus"])
def test_short_and_silent_clips(coder: ChildCoder, codec: str) -> None:
    """A hundred samples come back as a hundred; silence comes back as silence without coding."""
    tone = 0.3 * np.sin(2 * np.pi * 1000 / 48000 * np.arange(1000))
    short = Clip(np.repeat(tone[:, None], 2, axis=1).astype(np.float32), 48000)
    back = coder(short, codec, 128)
    assert back.samples.shape == short.samples.shape and np.isfinite(back.samples).all()
    assert not coder(Clip(np.zeros((1000, 2), np.float32), 48000), codec, 128).samples.any()


def test_a_constant_and_a_tone_stay_in_step(coder: ChildCoder) -> None:
    """Sounds that fit at many delays: their beginning, which fits at one, is where it was within a millisecond."""
    time_s = np.arange(48000) / 48000
    for wave in (np.where(time_s > 0.5, 0.3, 0.0), np.where(time_s > 0.5, 0.3 * np.sin(2 * np.pi * 440 * time_s), 0)):
        back = coder(Clip(np.repeat(wave[:, None], 2, axis=1).astype(np.float32), 48000), "vorbis", 128)
        begins = int(np.argmax(np.abs(back.samples[:, 0]) > 0.15))
        assert begins == pytest.approx(int(np.argmax(np.abs(wave) > 0.15)), abs=48)


def test_impossible_wishes_are_one_line() -> None:
    """Another codec, a rate out of bounds or no number."""
    for codec, rate_kbps in (("mp3", 8), ("vorbis", 1000), ("opus", float("nan")), ("wax", 128)):
        with pytest.raises(EvenhandError) as caught:
            code_clip(_song(1.0), codec, rate_kbps)
        assert "\n" not in str(caught.value)


def test_listed_rates_and_moves_agree_with_the_bounds() -> None:
    """Every ordinary rate can be asked for, by the moves as well."""
    for move in make_coding_moves(code_clip):
        low, high = BOUNDS_KBPS[move.name]
        assert (move.parameters[0].low, move.parameters[0].high) == (low, high)
        rates = list_rates(move.name)
        assert low <= rates[0] and rates[-1] <= high and list(rates) == sorted(rates)


@pytest.mark.parametrize(("name", "amount"), [("mp3", 15.0), ("vorbis", 12.0)])
def test_the_moves_reach_what_is_asked_with_the_real_codecs(coder: ChildCoder, name: str, amount: float) -> None:
    """Within 4 % of the share asked for; the difference is read again by spectra, after the gain that suits it best."""
    move = next(move for move in make_coding_moves(coder) if move.name == name)
    loop = _song(4.0)
    settings = move.solve(loop, amount, {})
    made = move.render(loop, settings)
    effect = move.measure(loop, made, settings)
    assert effect.amount == pytest.approx(amount, rel=0.04)
    x, y = loop.samples.astype(np.float64), made.samples.astype(np.float64)
    # What is left at any gain is a parabola: three points give its lowest.
    gain = (k_power(y) + k_power(x) - k_power(y - x)) / 2 / k_power(x)
    left = k_power(y - gain * x) / gain**2
    assert 100 * np.sqrt(left / k_power(x)) == pytest.approx(effect.amount, rel=0.003)


def test_realigning_finds_any_delay_and_refuses_another_song() -> None:
    """A shift of known length is undone to the sample; half a sample, and another sound, are refused."""
    song = _song(2.0).samples
    for lag in (-1105, -1, 0, 7, 1105):
        late = np.roll(np.pad(song, ((4000, 4000), (0, 0))), lag, axis=0)[4000:-4000]
        moved = realign(song, late, 48000, "mp3")
        np.testing.assert_array_equal(moved[2000:-2000], song[2000:-2000])
    spectrum = np.fft.rfft(song, axis=0)
    half = np.fft.irfft(spectrum * np.exp(-1j * np.pi * np.arange(spectrum.shape[0]) / song.shape[0])[:, None], axis=0)
    with pytest.raises(EvenhandError, match="delay_frames"):
        realign(song, half.astype(np.float32), 48000, "mp3")
    with pytest.raises(EvenhandError, match="another sound"):
        realign(song, np.random.default_rng(1).standard_normal(song.shape).astype(np.float32), 48000, "mp3")
