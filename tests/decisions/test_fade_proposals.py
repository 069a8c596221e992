"""Fades on songs whose start, decay and floor are known by construction."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
import pytest

from tests.decisions.steady_songs import RATE_HZ, describe
from tests.measure.sounds import music_like, noise
from trainer.audio.clip import Clip
from trainer.decisions import fade_proposals
from trainer.decisions.bounce_stream import fade_blocks
from trainer.decisions.evidence import Evidence
from trainer.decisions.fade_proposals import FadeProposal, apply_fades, check_fades, propose_fades
from trainer.decisions.sheet import Fades
from trainer.decisions.song_edges import Edge
from trainer.errors import BadValue
from trainer.measure.faults.scan import scan_faults

MUSIC_S = 8.0


def gather(clip: Clip) -> Evidence:
    """Measure and scan a clip."""
    return Evidence(describe(clip), *scan_faults(clip.samples, clip.rate_hz))


def propose(clip: Clip, bars: tuple[float, float] | None = None) -> FadeProposal:
    """Measure and propose."""
    return propose_fades(clip, gather(clip), bars)


def make_song(
    silence_s: float = 0.5, decay_s: float = 2.0, behind_s: float = 2.0, floor_rms: float = 0.0, noise_rms: float = 0.0
) -> Clip:
    """Make music that begins after a silence and, at 8 s, rings out by 60 dB in a time, over a floor of noise."""
    music = np.tile(music_like(4 * RATE_HZ, RATE_HZ, 1), (int(MUSIC_S / 4), 1))
    length = int((decay_s * 1.5 + behind_s) * RATE_HZ)
    ring = noise(length, 0.1, 3) * 10 ** (-3 * np.arange(length) / RATE_HZ / decay_s)[:, None]
    ring[int(decay_s * 1.5 * RATE_HZ) :] = 0
    head = noise(int(silence_s * RATE_HZ), noise_rms, 4) if noise_rms else np.zeros((int(silence_s * RATE_HZ), 2))
    song = np.concatenate([head, music, ring])
    return Clip((song + (noise(song.shape[0], floor_rms, 5) if floor_rms else 0.0)).astype(np.float32), RATE_HZ)


def highest_after(clip: Clip, at_s: float) -> float:
    """Give the highest sample behind a moment, dBFS."""
    top = float(np.abs(clip.samples[round(at_s * RATE_HZ) :]).max(initial=0.0))
    return 20 * math.log10(max(top, 1e-12))


def test_the_start_is_just_before_the_first_sound() -> None:
    """Half a second of silence: a tenth is left, and the fade is over before the first sound."""
    found = propose(make_song())
    assert found.edges.music_from_s == pytest.approx(0.5, abs=0.005)
    assert found.fades.start_s == pytest.approx(0.4, abs=0.005)
    assert found.fades.start_s + found.fades.fade_in_s < 0.5
    assert found.edges.head_noise_lufs is None


def test_noise_before_the_music_is_trimmed() -> None:
    """White noise of −60 dBFS RMS on two channels, K-weighted +3.8 dB of white noise less 0.7: about −54 LUFS."""
    song = make_song(silence_s=1.5, noise_rms=1e-3)
    found = propose(song)
    assert found.edges.head_noise_lufs == pytest.approx(-53.9, abs=1.0)
    assert 1.3 <= found.fades.start_s <= 1.5 and "Noise" in found.reasons[0]
    assert check_fades(song, found.fades).clean


@pytest.mark.parametrize("decay_s", [1.0, 3.0])
def test_the_tail_is_not_cut_before_the_room_ends(decay_s: float) -> None:
    """A decay of 60 dB in a time is straight in dB: where it passes −80 LUFS follows from its level (closed form)."""
    song = make_song(decay_s=decay_s)
    found = propose(song)
    # White noise of −20 dBFS RMS a channel: −20 + 3.01 + 3.83 − 0.69 LUFS at 8.5 s.
    ends = 0.5 + MUSIC_S + decay_s * (-13.85 + 80) / 60
    assert found.edges.room_ends_s == pytest.approx(ends, abs=0.15)
    assert found.fades.end_s is not None and found.fades.end_s >= ends - 0.1
    assert found.fades.end_s - found.fades.fade_out_s > ends - 0.35
    checked = check_fades(song, found.fades)
    assert checked.clean and checked.cut_lufs < -80 and checked.last_dbfs < -90


def test_a_tail_that_falls_into_noise_ends_there() -> None:
    """Noise of −66 dBFS RMS stays: the room ends where it is 3 dB over that, and the fade comes after it."""
    song = make_song(decay_s=2.0, behind_s=5.0, floor_rms=10 ** (-66 / 20))
    found = propose(song)
    ends = 0.5 + MUSIC_S + 2.0 * (66 - 20) / 60
    assert found.edges.room_ends_s == pytest.approx(ends, abs=0.25)
    assert found.edges.floor_lufs == pytest.approx(-66 + 3.01 + 3.83 - 0.69, abs=1.0)
    assert (found.fades.end_s or 0.0) - found.fades.fade_out_s >= (found.edges.room_ends_s or 0.0) - 0.05
    assert "noise of" in found.reasons[1]
    assert check_fades(song, found.fades).clean


def test_a_file_that_ends_before_its_room_is_told() -> None:
    """Cut while the decay is 35 dB down: a short fade, and the advice to bounce it longer."""
    song = make_song(decay_s=3.0)
    song = song.with_samples(song.samples[: int((0.5 + MUSIC_S + 1.75) * RATE_HZ)])
    found = propose(song)
    assert found.edges.room_ends_s is None and "bounce it longer" in found.reasons[1]
    assert not check_fades(song, Fades()).clean
    assert check_fades(song, found.fades).clean


@pytest.mark.parametrize("bars", [None, (0.5, 1.5)])
def test_a_song_that_stops_while_it_plays_is_faded(bars: tuple[float, float] | None) -> None:
    """Cut in the music: faded to the end, from a bar line where bars are known."""
    song = make_song()
    song = song.with_samples(song.samples[: int(8.2 * RATE_HZ)])
    found = propose(song, bars)
    assert found.fades.end_s == pytest.approx(8.2) and found.fades.fade_out_s > 1.0
    if bars is not None:
        begins = (found.fades.end_s or 0.0) - found.fades.fade_out_s
        count = (begins - bars[0]) / bars[1]
        assert count == pytest.approx(round(count), abs=1e-3)
    assert {finding.kind for finding in check_fades(song, Fades()).faults} >= {"abrupt_end"}
    assert check_fades(song, found.fades).clean


def test_a_file_that_begins_within_a_sound_gets_a_fade_of_milliseconds() -> None:
    """Cut 0.2 s into the music: no trim, and the cut is gone."""
    song = make_song()
    song = song.with_samples(song.samples[int(0.7 * RATE_HZ) :])
    found = propose(song)
    assert found.fades.start_s == 0 and 0 < found.fades.fade_in_s <= 0.005
    assert not check_fades(song, Fades()).clean
    assert check_fades(song, found.fades).clean


def test_faults_of_the_song_are_not_the_fades() -> None:
    """A click planted near the end is in the song's scan, and not told of its fades."""
    song = make_song()
    wave: npt.NDArray[np.float32] = song.samples.copy()
    wave[round(9.0 * RATE_HZ)] += 0.5
    clicked = song.with_samples(wave)
    assert gather(clicked).count("click") == 1
    assert check_fades(clicked, Fades(0.4, 0.05, 10.0, 0.5)).clean


@pytest.mark.parametrize(("edge", "fades"), [("head", Fades(0.0, 6.0)), ("tail", Fades(0.0, 0.0, None, 9.0))])
def test_all_of_a_long_fade_is_looked_at(edge: Edge, fades: Fades, monkeypatch: pytest.MonkeyPatch) -> None:
    """A scan reaches over the whole fade and the second beside it: 7 s of a fade of 6 s, 10 s of one of 9 s.

    Without a fault in it the song is not scanned again without its fades.
    """
    scanned_s: list[float] = []

    def scan(samples: npt.NDArray[np.float32], rate_hz: int) -> object:
        scanned_s.append(samples.shape[0] / rate_hz)
        return scan_faults(samples, rate_hz)

    monkeypatch.setattr(fade_proposals, "scan_faults", scan)
    song = Clip(noise(12 * RATE_HZ, 0.1, 1).astype(np.float32), RATE_HZ)
    assert check_fades(song, fades, (edge,)).clean
    assert scanned_s == [fades.fade_in_s + fades.fade_out_s + 1.0]


def test_a_slow_ring_is_not_taken_for_noise() -> None:
    """6 dB a second down to the end of the file (60 dB in 10 s, cut after 8 s): its tail is not cut."""
    song = make_song(decay_s=10.0)
    song = song.with_samples(song.samples[: int((0.5 + MUSIC_S + 8.0) * RATE_HZ)])
    found = propose(song)
    assert found.edges.room_ends_s is None and "bounce it longer" in found.reasons[1]
    assert found.fades.end_s == pytest.approx(song.duration_s, abs=1e-3) and found.fades.fade_out_s <= 0.5


def test_fades_do_what_they_say() -> None:
    """A raised cosine on a constant is its own curve (closed form); between the fades nothing is touched."""
    clip = Clip(np.full((RATE_HZ * 4, 2), 0.5, np.float32), RATE_HZ)
    faded = apply_fades(clip, Fades(0.5, 0.1, 3.5, 1.0))
    assert faded.frames == 3 * RATE_HZ
    part = (np.arange(4800) + 0.5) / 4800
    assert np.abs(faded.samples[:4800, 0] - 0.5 * (0.5 - 0.5 * np.cos(np.pi * part))).max() < 1e-6
    assert (faded.samples[4800 : 2 * RATE_HZ] == 0.5).all() and abs(faded.samples[-1, 0]) < 1e-8
    assert apply_fades(clip, Fades()) is clip
    with pytest.raises(BadValue, match="more than start_s"):
        apply_fades(clip, Fades(2.0, 0.0, 1.0))
    with pytest.raises(BadValue, match="at most in all"):
        apply_fades(clip, Fades(0.0, 3.0, None, 3.0))


@pytest.mark.parametrize("blocks", [1, 7])
def test_head_and_tail_have_curves_of_their_own(blocks: int) -> None:
    """Closed form: straight at the head, a quarter of a sine at the tail; the same where a bounce fades in blocks."""
    fades = Fades(0.0, 0.1, None, 0.5, "linear", "equal_power")
    part, tail = (np.arange(4800) + 0.5) / 4800, (np.arange(24000) + 0.5) / 24000
    wished = np.concatenate([part, np.ones(2 * RATE_HZ - 28800), np.sin(np.pi / 2 * tail)[::-1]])
    clip = Clip(np.ones((2 * RATE_HZ, 2), np.float32), RATE_HZ)
    assert np.abs(apply_fades(clip, fades).samples - wished[:, None]).max() < 1e-7
    cut = np.array_split(np.ones((2, 2 * RATE_HZ)), blocks, axis=1)
    made = np.concatenate(list(fade_blocks(cut, 2 * RATE_HZ, fades, RATE_HZ)), axis=1)
    assert np.abs(made - wished).max() < 1e-12


def test_what_is_cut_away_is_measured_at_both_ends() -> None:
    """The level of what lies outside, with nothing outside an untouched song.

    A square wave of amplitude a on two channels has the power 2 a², −0.691 LUFS for a power of 1 (ITU-R BS.1770).
    """
    wave = np.ones((4 * RATE_HZ, 2), np.float32)
    wave[:RATE_HZ], wave[3 * RATE_HZ :] = 0.01, 0.1
    check = check_fades(Clip(wave, RATE_HZ), Fades(1.0, 0.1, 3.0, 0.1), ())
    assert check.cut_before_lufs == pytest.approx(-0.691 + 3.01 - 40, abs=0.01)
    assert check.cut_lufs == pytest.approx(-0.691 + 3.01 - 20, abs=0.01)
    plain = check_fades(Clip(wave, RATE_HZ), Fades(), ())
    assert plain.cut_before_lufs == plain.cut_lufs == -math.inf


def test_silence_is_refused() -> None:
    """There is nowhere to start."""
    with pytest.raises(BadValue, match="sound in it"):
        propose(Clip(np.zeros((RATE_HZ * 5, 2), np.float32), RATE_HZ))
