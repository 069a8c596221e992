"""All files of a delivery in one go: forms, versions, places, and everything that can go wrong on the way."""

from __future__ import annotations

import errno
import os
import signal
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from tests.decisions.sheets import MIX
from tests.measure.meters import ebur128_dbtp, ebur128_lufs
from tests.measure.recordings import RATE_HZ, cut_song
from trainer.app.bounce_files import MadeFile
from trainer.app.bounce_passes import Watch
from trainer.app.bouncing import BounceResult
from trainer.app.conditions import Conditions
from trainer.app.delivering import DeliveryPlan, deliver, plan_delivery
from trainer.decisions.bounce import Stopped
from trainer.decisions.sheet import Aim, Delivery, Loudness, Rung, Sheet
from trainer.errors import BadValue
from trainer.files.sound_reading import hash_file

SONG = cut_song("quarter_past_the_breakwater", 20.0, 4.5)
LIMITER = {"ceiling_dbtp": -1.0, "release_ms": 60.0, "slow_release_ms": 300.0}
BOTH = ("streaming", "cd")
NAMES = ("low tide master 48 kHz 24 bit.wav", "low tide master 44.1 kHz 16 bit.wav")
Made = tuple[tuple[MadeFile, BounceResult], ...]


@pytest.fixture
def sheet(tmp_path: Path) -> Sheet:
    """Write a mix, and a sheet that aims at a stream and a disc."""
    path = tmp_path / "low tide.wav"
    soundfile.write(path, SONG, RATE_HZ, subtype="PCM_24")
    mix = replace(MIX, path=str(path), sha256=hash_file(path), duration_s=4.5)
    loudness = Loudness((Rung(-14.0, -14.0, 3.0),), 0, LIMITER)
    return Sheet("Low tide", mix, "2026-11-27", Aim(targets=BOTH), loudness=loudness, delivery=Delivery(0, 24))


@pytest.fixture
def plan(sheet: Sheet, tmp_path: Path) -> Callable[..., DeliveryPlan]:
    """Plan a delivery beside the mix."""

    def make(*versions: Path, out: str = "low tide master.wav", **changes: Any) -> DeliveryPlan:
        return plan_delivery(Conditions(str(tmp_path / "data")), replace(sheet, **changes), tmp_path / out, versions)

    return make


def list_files(folder: Path) -> set[str]:
    """List all there is, hidden files too."""
    return {path.name for path in folder.iterdir()}


def write_version(path: Path, samples: np.ndarray[Any, Any], rate_hz: int = RATE_HZ) -> Path:
    """Write another version of the mix."""
    soundfile.write(path, samples, rate_hz, subtype="PCM_24")
    return path


def test_each_target_gets_the_form_it_takes(plan: Callable[..., DeliveryPlan], tmp_path: Path) -> None:
    """IEC 60908 and libebur128: the disc 44.1 kHz and 16 bit, the stream as the mix; both at −14 LUFS under −1 dBTP."""
    told: list[tuple[float, str]] = []
    made, lined_up = deliver(plan(), None, Watch(lambda *each: told.append(each)))
    assert [each.out.name for each, _ in made] == list(NAMES) and lined_up == ()
    infos = [soundfile.info(tmp_path / name) for name in NAMES]
    assert [(info.samplerate, info.subtype) for info in infos] == [(48000, "PCM_24"), (44100, "PCM_16")]
    for (each, result), name in zip(made, NAMES, strict=True):
        samples, rate_hz = soundfile.read(tmp_path / name)
        assert ebur128_lufs(samples, rate_hz) == pytest.approx(-14.0, abs=0.1)
        assert ebur128_dbtp(samples, rate_hz) <= -1.0
        assert "within 0.2 dB of the sheet's −14.0 LUFS" in result.words[0]
        assert [check["target"] for check in result.checks] == list(each.form.targets)
        assert result.bounced.sha256 == hash_file(tmp_path / name) and result.checks[0]["file"] == str(each.out)
    forms = {rule["rule"]: rule["verdict"] for _, result in made for rule in result.checks[0]["verdicts"]}
    assert forms["sample_rate_hz"] == forms["bit_depth"] == forms["format"] == "pass"
    fractions = [fraction for fraction, _ in told]
    assert fractions == sorted(fractions) and fractions[-1] == 1.0
    assert {words.split(":")[0] for _, words in told} == {*NAMES, "done"}
    # The moves are made once, and each rate converted from them.
    assert {words for _, words in told if "moves" in words} == {f"{NAMES[0]}: making the moves"}
    assert list_files(tmp_path) == {"low tide.wav", *NAMES}


def test_versions_take_the_gain_of_the_mix(plan: Callable[..., DeliveryPlan], tmp_path: Path) -> None:
    """By construction: at half level, under the limiter, 6.02 dB softer; a late one is told to be late."""
    half = write_version(tmp_path / "low tide quiet.wav", 0.5 * SONG)
    late = np.concatenate([np.zeros((480, 2), np.float32), SONG[:-480]])
    late_path = write_version(tmp_path / "low tide clean.wav", late)
    quiet = Loudness((Rung(-30.0, -30.0, -14.0),), 0, LIMITER)
    aim, delivery = Aim(), Delivery(0, 32)
    made, lined_up = deliver(plan(half, late_path, loudness=quiet, aim=aim, delivery=delivery))
    assert [each.out.name for each, _ in made] == [
        "low tide master.wav", "low tide quiet master.wav", "low tide clean master.wav",
    ]  # fmt: skip
    assert len({each.figures.drive_db for each, _ in made}) == 1 and made[0][0].figures.drive_db != -14.0
    main, softer, _ = (soundfile.read(each.out)[0] for each, _ in made)
    assert np.abs(softer - 0.5 * main).max() < 1e-6
    assert made[0][0].figures.version_of == "" and made[1][0].figures.version_of == "low tide.wav"
    said = " ".join(lined_up)
    assert "6.02 dB softer where both hold the same sound" in said and "Begins 480 samples (10.00 ms) late." in said


@pytest.mark.parametrize(
    ("samples", "rate_hz", "line"),
    [
        (SONG[:-4800], RATE_HZ, "other.wav: duration_s=4.400, expected 4.500, as the mix has"),
        (SONG[:198450], 44100, "other.wav: sample_rate_hz=44100, expected 48000, as the mix has"),
    ],
)
def test_a_version_that_does_not_fit_is_refused_first(
    plan: Callable[..., DeliveryPlan], tmp_path: Path, samples: Any, rate_hz: int, line: str
) -> None:
    """By construction: one line, before anything is made."""
    other = write_version(tmp_path / "other.wav", samples, rate_hz)
    with pytest.raises(BadValue) as caught:
        plan(other)
    assert str(caught.value) == line and list_files(tmp_path) == {"low tide.wav", "other.wav"}


def test_a_silent_version_makes_no_file(plan: Callable[..., DeliveryPlan], tmp_path: Path) -> None:
    """ITU-R BS.1770: what nothing of is louder than −70 LUFS has no loudness; one line, no file."""
    silent = write_version(tmp_path / "silent.wav", 0 * SONG)
    with pytest.raises(BadValue, match=r"silent.wav: integrated_lufs=−∞"):
        deliver(plan(silent, aim=Aim(), loudness=Loudness()))
    assert list_files(tmp_path) == {"low tide.wav", "silent.wav"}


def test_what_is_there_is_told_and_no_source_written_over(plan: Callable[..., DeliveryPlan], tmp_path: Path) -> None:
    """By construction: a file of another hash is in the way; the mix never gives its place; names are kept apart."""
    (tmp_path / NAMES[1]).write_bytes(b"mine")
    assert plan().list_taken(()) == (tmp_path / NAMES[1],)
    assert plan().list_taken((hash_file(tmp_path / NAMES[1]),)) == ()
    with pytest.raises(BadValue, match="which is never changed"):
        plan(out="low tide.wav", aim=Aim())
    (tmp_path / "again").mkdir()
    twice = [write_version(folder / "other.wav", SONG) for folder in (tmp_path, tmp_path / "again")]
    with pytest.raises(BadValue, match="a name of its own for each file"):
        plan(*twice)
    with pytest.raises(BadValue, match=r"a file that ends in \.wav or \.flac"):
        plan(out="low tide.mp3")


@pytest.mark.parametrize(
    ("one", "other"), [("Alt.wav", "alt.wav"), ("Caf\u00e9.wav", "Cafe\u0301.wav"), ("Straße.wav", "STRASSE.wav")]
)
def test_names_that_some_disks_take_for_one_are_refused(
    plan: Callable[..., DeliveryPlan], tmp_path: Path, one: str, other: str
) -> None:
    """Unicode Standard, 3.13 and Annex 15: names that differ in case or in composition alone match without case."""
    versions = [write_version(tmp_path / name, gain * SONG) for name, gain in ((one, 0.5), (other, 0.25))]
    with pytest.raises(BadValue, match="a name of its own for each file"):
        plan(*versions)


def test_a_version_that_is_the_mix_or_another_version_is_refused(
    plan: Callable[..., DeliveryPlan], tmp_path: Path
) -> None:
    """By construction: a file of the same hash, whatever its name."""
    copy = tmp_path / "copy.wav"
    copy.write_bytes((tmp_path / "low tide.wav").read_bytes())
    half = write_version(tmp_path / "half.wav", 0.5 * SONG)
    (tmp_path / "again.wav").write_bytes(half.read_bytes())
    for versions, name in (((copy,), "copy.wav"), ((half, tmp_path / "again.wav"), "again.wav")):
        with pytest.raises(BadValue, match=f"version={name}, expected another sound"):
            plan(*versions)


def test_no_version_goes_over_the_ceiling(plan: Callable[..., DeliveryPlan], sheet: Sheet, tmp_path: Path) -> None:
    """libebur128: a version louder than the mix stays under −1 dBTP too, and the mix keeps its distance to it."""
    peak = float(np.abs(SONG).max())
    mix = write_version(tmp_path / "low tide.wav", 0.85 / peak * SONG)
    loud = write_version(tmp_path / "vocal up.wav", 0.999 / peak * SONG)
    own = replace(sheet.mix, sha256=hash_file(mix))
    made, _ = deliver(plan(loud, mix=own, aim=Aim(), loudness=Loudness(), delivery=Delivery(0, 32)))
    main, version = (soundfile.read(each.out)[0] for each, _ in made)
    assert -1.1 < ebur128_dbtp(version, RATE_HZ) <= -1.0
    assert ebur128_lufs(version, RATE_HZ) - ebur128_lufs(main, RATE_HZ) == pytest.approx(
        20 * np.log10(0.999 / 0.85), abs=0.01
    )
    words = [" ".join(result.words) for _, result in made]
    assert "so that vocal up.wav, with the same gain, keeps the ceiling too" in words[0]
    assert "LU louder than low tide.wav" in words[1] and "It was left so" in words[1] and "together" not in words[1]


def test_a_mix_that_moved_or_changed(plan: Callable[..., DeliveryPlan], sheet: Sheet, tmp_path: Path) -> None:
    """By construction: one line, before any work."""
    soundfile.write(sheet.mix.path, 0.5 * SONG, RATE_HZ, subtype="PCM_24")
    with pytest.raises(BadValue, match="the mix has changed since the sheet was begun"):
        plan()
    (tmp_path / "low tide.wav").unlink()
    with pytest.raises(BadValue, match="expected a file that exists"):
        plan()
    assert list_files(tmp_path) == set()


@pytest.fixture
def ready(plan: Callable[..., DeliveryPlan], tmp_path: Path) -> DeliveryPlan:
    """Plan two files; one of them takes the place of what was there."""
    (tmp_path / NAMES[1]).write_bytes(b"before")
    return plan()


def assert_untouched(folder: Path) -> None:
    """See that the folder holds the mix and what was there before."""
    assert list_files(folder) == {"low tide.wav", NAMES[1]} and (folder / NAMES[1]).read_bytes() == b"before"


@pytest.mark.parametrize("at", [0.0, 0.4, 0.6, 0.85])
def test_stopped_anywhere_nothing_is_left(ready: DeliveryPlan, tmp_path: Path, at: float) -> None:
    """By construction: in the first file, after it, in the second, and before the check."""
    far: list[float] = []
    watch = Watch(lambda fraction, words: far.append(fraction), lambda: bool(far) and far[-1] >= at)
    with pytest.raises(Stopped):
        deliver(ready, None, watch)
    assert_untouched(tmp_path)


def test_a_process_that_is_ended_leaves_in_order(ready: DeliveryPlan, tmp_path: Path) -> None:
    """POSIX: the signal that giving work up sends; sent when the second file is half written."""

    def end(fraction: float, words: str) -> None:
        if words == f"{NAMES[1]}: writing the file":
            os.kill(os.getpid(), signal.SIGTERM)

    before = signal.getsignal(signal.SIGTERM)
    with pytest.raises(SystemExit):
        deliver(ready, None, Watch(end))
    assert_untouched(tmp_path)
    assert signal.getsignal(signal.SIGTERM) == before


@pytest.mark.parametrize("block", [0, 3, 6])
def test_a_disk_that_is_full(ready: DeliveryPlan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, block: int) -> None:
    """POSIX: ENOSPC at some block, of the first file or the second: one line, neither file is there."""
    written: list[int] = []

    def write(self: Any, data: Any) -> None:
        written.append(1)
        if len(written) > block:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        plain(self, data)

    plain = soundfile.SoundFile.write
    monkeypatch.setattr(soundfile.SoundFile, "write", write)
    with pytest.raises(BadValue) as caught:
        deliver(ready)
    assert str(caught.value).count("\n") == 0
    assert "a place that can be written, with room for it (no space left on device)" in str(caught.value)
    assert_untouched(tmp_path)


@pytest.mark.parametrize("number", [1, 2])
def test_a_name_that_cannot_be_given(
    ready: DeliveryPlan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    """POSIX: EACCES at one of the two renamings: one line with that file's name, and neither file is there."""
    done: list[int] = []
    plain = Path.replace

    def give(self: Path, target: Any) -> Path:
        done.append(1)
        if len(done) == number:
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(self), None, str(target))
        return plain(self, target)

    monkeypatch.setattr(Path, "replace", give)
    with pytest.raises(BadValue, match=NAMES[number - 1]) as caught:
        deliver(ready)
    assert str(caught.value).count("\n") == 0 and "permission denied" in str(caught.value)
    assert_untouched(tmp_path)


def test_a_folder_that_was_made_goes_away_again(plan: Callable[..., DeliveryPlan], tmp_path: Path) -> None:
    """By construction: stopped at once, with two new folders on the way."""
    with pytest.raises(Stopped):
        deliver(plan(out="new/deep/master.wav"), None, Watch(stopped=lambda: True))
    assert list_files(tmp_path) == {"low tide.wav"}


def test_a_folder_that_is_none_or_goes_away(plan: Callable[..., DeliveryPlan], tmp_path: Path) -> None:
    """A file where a folder is needed, a folder where a file is, a system's folder: one line each, nothing made."""
    (tmp_path / "file").write_bytes(b"")
    (tmp_path / "folder" / NAMES[0]).mkdir(parents=True)
    for out in ("file/master.wav", "folder/low tide master.wav", "/proc/master.wav"):
        with pytest.raises(BadValue) as caught:
            deliver(plan(out=out))
        assert str(caught.value).count("\n") == 0 and "expected a" in str(caught.value)
    assert list_files(tmp_path) == {"low tide.wav", "file", "folder"}
    assert list_files(tmp_path / "folder") == {NAMES[0]}


def test_a_mix_that_is_written_over_meanwhile(ready: DeliveryPlan, tmp_path: Path) -> None:
    """By construction: another sound under the mix's name before the end; nothing is written."""

    def change(fraction: float, words: str) -> None:
        if words.endswith("checking the file"):
            write_version(tmp_path / "low tide.wav", 0.9 * SONG[:-1])

    with pytest.raises(BadValue, match="a file that stays as it is meanwhile; nothing was written"):
        deliver(ready, None, Watch(change))
    assert_untouched(tmp_path)


@pytest.mark.parametrize(("rate_hz", "channels"), [(8000, 2), (48000, 1), (96000, 1)])
def test_small_mixes(tmp_path: Path, sheet: Sheet, rate_hz: int, channels: int) -> None:
    """By construction: telephone rate, one channel: two channels of the rates that the targets take."""
    path = tmp_path / "small.wav"
    soundfile.write(path, SONG[: 4 * rate_hz, :channels], rate_hz, subtype="PCM_16")
    mix = replace(MIX, path=str(path), sha256=hash_file(path), sample_rate_hz=rate_hz, duration_s=4.0)
    small = replace(sheet, mix=mix, loudness=Loudness())
    made, _ = deliver(plan_delivery(Conditions(str(tmp_path)), small, tmp_path / "master.wav"))
    infos = [soundfile.info(each.out) for each, _ in made]
    # Distributors take whole multiples of 44.1 and 48 kHz (common practice, no source); the disc is IEC 60908.
    stream_hz = max(44100, rate_hz)
    found = [(each.form.targets, info.samplerate, info.subtype) for (each, _), info in zip(made, infos, strict=True)]
    assert found == [(("streaming",), stream_hz, "PCM_24"), (("cd",), 44100, "PCM_16")]
    assert all(info.channels == 2 for info in infos)
    assert all(result.bounced.verdict for _, result in made)
