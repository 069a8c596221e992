"""Ends of songs whose decay is known by construction; fades in steps, on bar lines by arithmetic, cut out of a song."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.decisions.steady_songs import RATE_HZ
from tests.decisions.test_fade_proposals import gather, make_song
from trainer.audio.clip import Clip
from trainer.decisions.fade_proposals import apply_fades, check_fades
from trainer.decisions.fade_steps import (
    begins_on_bar,
    change_curve,
    cut_edge,
    find_curve,
    is_taken,
    leave_edge,
    list_bar_lengths,
    put_on_bar,
    read_tempo,
    step_length,
    take_edge,
)
from trainer.decisions.marks import decide_edge, find_edge, tell_decision
from trainer.decisions.sheet import Fades, Finding, Tempo
from trainer.decisions.song_edges import EDGES as EDGES_OF_A_SONG
from trainer.decisions.song_edges import SongEdges, Steps, find_room_end, measure_decay, read_edges, smooth_levels
from trainer.errors import BadValue
from trainer.measure.steps import STEP_S

EDGES = SongEdges(0.5, None, -18.0, 8.5, 10.5, -90.0, 30.0)


def make_levels(rate_db_per_s: float, tail_s: float, floor_db: float | None = None) -> Steps:
    """Make the levels of noise that lasts 6 s at −14 LUFS, then falls, with noise below it if wished.

    The power over 10 ms of two channels of white noise at 48 kHz has some 960 degrees of freedom.
    """
    time_s = np.arange(round((6.0 + tail_s) / STEP_S)) * STEP_S
    power = 10 ** (-rate_db_per_s * np.maximum(time_s - 6.0, 0.0) / 10)
    power += 0.0 if floor_db is None else 10 ** (floor_db / 10)
    return smooth_levels(power * np.random.default_rng(1).chisquare(960, power.size) / 960 * 10 ** (-13.309 / 10))


@pytest.mark.parametrize(("decay_s", "floor_dbfs"), [(1.0, None), (3.0, None), (2.0, -66.0)])
def test_the_decay_is_that_of_the_room(decay_s: float, floor_dbfs: float | None) -> None:
    """A ring that falls by 60 dB in a time falls by 60 / time dB a second (definition of the reverberation time).

    Noise behind it makes it no flatter.
    """
    floor_rms = 0.0 if floor_dbfs is None else 10 ** (floor_dbfs / 20)
    edges = read_edges(gather(make_song(decay_s=decay_s, behind_s=4.0 if floor_rms else 2.0, floor_rms=floor_rms)))
    assert edges.decay_db_per_s == pytest.approx(60 / decay_s, rel=0.02)
    assert edges.music_from_s == pytest.approx(0.5, abs=0.01) and edges.last_loud_s > 8.4
    assert edges.room_ends_s is not None and edges.room_ends_s > edges.last_loud_s


@pytest.mark.parametrize(("rate_db_per_s", "tail_s"), [(10.0, 5.0), (6.0, 8.0), (3.0, 15.0), (2.0, 25.0), (1.0, 45.0)])
def test_a_slow_ring_is_no_floor(rate_db_per_s: float, tail_s: float) -> None:
    """What falls in a straight line to the end of the file, 45 to 50 dB in all, has no floor (by construction)."""
    levels = make_levels(rate_db_per_s, tail_s)
    ends_s, last_lufs = find_room_end(levels, -14.0)
    assert ends_s is None and last_lufs == pytest.approx(-14.0 - rate_db_per_s * tail_s, abs=2.0)
    # Over 100 ms and what the noise goes up and down, a straight line has its own slope (definition).
    assert measure_decay(levels, -14.0, ends_s, last_lufs) == pytest.approx(rate_db_per_s, rel=0.01)


@pytest.mark.parametrize("floor_db", [-50.0, -60.0])
@pytest.mark.parametrize("rate_db_per_s", [10.0, 30.0])
def test_a_floor_of_noise_ends_the_room(rate_db_per_s: float, floor_db: float) -> None:
    """Two equal powers are 3 dB over either (closed form): there the room ends, within 0.3 dB of its fall."""
    levels = make_levels(rate_db_per_s, -floor_db / rate_db_per_s + 2.0, floor_db)
    ends_s, floor_lufs = find_room_end(levels, -14.0)
    assert ends_s == pytest.approx(6.0 - floor_db / rate_db_per_s, abs=0.1 + 0.3 / rate_db_per_s)
    assert floor_lufs == pytest.approx(-14.0 + floor_db, abs=0.5)
    assert measure_decay(levels, -14.0, ends_s, floor_lufs) == pytest.approx(rate_db_per_s, rel=0.02)


def test_steps_go_up_and_down_and_keep_to_what_fits() -> None:
    """Longer and shorter are each other's reverse; a fade-in and a fade-out never overlap (arithmetic)."""
    fades = Fades(0.4, 0.05, 4.0, 0.5)
    longer = step_length(fades, "tail", 1, 4.0)
    assert longer.fade_out_s > 0.5 and step_length(longer, "tail", -1, 4.0) == fades
    assert step_length(fades, "head", -1, 4.0).fade_in_s < 0.05
    for edge in ("head", "tail"):
        tried = fades
        for _ in range(40):
            tried = step_length(tried, edge, 1, 4.0)  # type: ignore[arg-type]
        assert tried.fade_in_s + tried.fade_out_s <= 3.6 + 1e-9
    for _ in range(40):
        fades = step_length(fades, "tail", -1, 4.0)
    assert fades.fade_out_s == 0.0


def test_a_fade_begins_on_a_bar_line() -> None:
    """92 beats a minute, three to a bar: 60 · 3 / 92 = 1.957 s; the fade begins a whole number of these after 0.5 s."""
    assert read_tempo("92 3", 0.5) == Tempo(92.0, 3, 0.5) and read_tempo("120", 0.0).bars == (0.0, 2.0)
    bars = read_tempo("92,0 3", 0.5).bars
    assert bars == (0.5, pytest.approx(180 / 92))
    fades = Fades(0.0, 0.0, 30.0, 5.0)
    for tried in (put_on_bar(fades, 31.0, bars), step_length(put_on_bar(fades, 31.0, bars), "tail", 1, 31.0, bars)):
        count = (30.0 - tried.fade_out_s - 0.5) / bars[1]
        assert count == pytest.approx(round(count), abs=1e-3)
        assert begins_on_bar(tried, 31.0, bars) and not begins_on_bar(replace(tried, end_s=30.5), 31.0, bars)
    assert not begins_on_bar(fades, 31.0, bars) and not begins_on_bar(Fades(0.0, 0.0, 0.5, 0.0), 31.0, bars)
    assert not begins_on_bar(Fades(0.0, 0.0, 30.0, 30.0), 31.0, (0.5, 0.5)), "before the first sound there is no bar"
    assert abs(put_on_bar(fades, 31.0, bars).fade_out_s - 5.0) <= bars[1] / 2
    assert put_on_bar(Fades(), 31.0, bars) == Fades()
    assert list_bar_lengths(0.3, bars) == (0.0,)
    for text in ("fast", "20", "92 0", "92 x"):
        with pytest.raises(BadValue, match="beats per minute"):
            read_tempo(text, 0.0)


def test_head_and_tail_are_taken_each_by_itself() -> None:
    """One end changes with its curve, the other does not; a sheet without any fade is as it was."""
    tried = Fades(0.4, 0.05, 10.0, 0.5, "linear", "equal_power")
    head = take_edge(Fades(), tried, "head")
    assert head == Fades(0.4, 0.05, None, 0.0, "linear") and is_taken(head, "head") and not is_taken(head, "tail")
    assert take_edge(head, tried, "tail") == tried
    assert leave_edge(tried, "head") == Fades(0.0, 0.0, 10.0, 0.5, "raised_cosine", "equal_power")
    assert leave_edge(leave_edge(tried, "head"), "tail") == Fades()
    # A trim without a fade has no curve of its own.
    assert take_edge(Fades(), replace(tried, fade_in_s=0.0), "head") == Fades(0.4)
    for edge in EDGES_OF_A_SONG:
        other = change_curve(tried, edge, "raised_cosine")
        assert find_curve(other, edge) == "raised_cosine" and take_edge(other, tried, edge) == tried


@pytest.mark.parametrize("curves", [("raised_cosine", "linear"), ("equal_power", "raised_cosine")])
def test_what_is_heard_is_what_will_be_made(curves: tuple[str, str]) -> None:
    """Between the ramps of the loop the cut is the faded song, sample by sample, and silence outside it."""
    song, fades = make_song(), Fades(0.4, 0.05, 10.0, 0.5, *curves)
    whole = np.zeros((song.frames, 2))
    made = apply_fades(song, fades)
    first = round(0.4 * RATE_HZ)
    whole[first : first + made.frames] = made.samples
    for edge in ("head", "tail"):
        plain, faded, start_s = cut_edge(song, fades, edge, EDGES)  # type: ignore[arg-type]
        assert plain.frames == faded.frames
        at = round(start_s * RATE_HZ)
        lead = max(0, -at)
        inner = slice(lead + (0 if edge == "head" else 4800), faded.frames - 24000 - 4800)
        for version, expected in ((faded, whole), (plain, song.samples)):
            there = expected[at + inner.start : at + inner.stop]
            assert np.abs(version.samples[inner] - there).max() < 1e-6
        for version in (plain, faded):
            silence = version.samples[:24000] if edge == "head" else version.samples[-24000:]
            assert silence.shape[0] == 24000 and (silence == 0).all()
        assert lead == (24000 if edge == "head" else 0)
        assert edge == "tail" or np.abs(faded.samples[-1]).max() < 1e-3


def make_pieces(*pieces: tuple[float, float]) -> Clip:
    """Make noise in pieces of a length, s, and an amplitude."""
    wave = np.random.default_rng(1).uniform(-1.0, 1.0, (round(sum(length for length, _ in pieces) * RATE_HZ), 2))
    levels = np.concatenate([np.full(round(length * RATE_HZ), level) for length, level in pieces])
    return Clip((wave * levels[:, None]).astype(np.float32), RATE_HZ)


def test_a_tail_is_heard_where_much_silence_follows() -> None:
    """8 s of song and 60 s of silence: from 4 s before its last sound on, for 45 s, with and without the fade."""
    song = make_pieces((8.0, 0.5), (60.0, 0.0))
    edges = SongEdges(0.0, None, -12.0, 7.9, 8.0, -math.inf, None)
    for fades in (Fades(0.0, 0.0, 8.3, 0.5), Fades(0.0, 0.0, None, 5.0), Fades(0.0, 0.0, 6.0, 1.0)):
        plain, faded, start_s = cut_edge(song, fades, "tail", edges)
        assert start_s == pytest.approx(min(7.9, (fades.end_s or 68.0) - fades.fade_out_s) - 4.0)
        assert plain.duration_s == pytest.approx(45.5) and faded.frames == plain.frames
        made, first = apply_fades(song, fades), round(start_s * RATE_HZ)
        for version, whole in ((plain, song), (faded, made)):
            heard = version.samples[2400 : round((8.3 - start_s) * RATE_HZ)]
            assert np.abs(heard).max() > 0.4
            there = whole.samples[first + 2400 :][: heard.shape[0]]
            assert np.abs(heard[: there.shape[0]] - there).max() < 1e-6


def test_a_head_is_heard_where_much_silence_lies_before_it() -> None:
    """50 s of silence, then the song: the loop ends 4 s after the fade, at 50.1 s, and is 45 s long."""
    song = make_pieces((50.0, 0.0), (8.0, 0.5))
    edges = SongEdges(50.0, None, -12.0, 57.9, None, -12.0, None)
    plain, faded, start_s = cut_edge(song, Fades(49.9, 0.2), "head", edges)
    assert start_s == pytest.approx(54.1 - 45.0 - 0.5) and plain.duration_s == faded.duration_s == pytest.approx(45.5)
    for version in (plain, faded):
        # Behind the fade both are the song.
        there = song.samples[round(50.1 * RATE_HZ) :][: 4 * RATE_HZ - 2400]
        assert np.abs(version.samples[-4 * RATE_HZ : -2400] - there).max() < 1e-6 and np.abs(there).max() > 0.4
    assert (faded.samples[: round((49.9 - start_s) * RATE_HZ)] == 0).all()


def test_where_a_song_is_cut_into_there_is_a_ramp() -> None:
    """Noise all through: it rises from nothing and falls to it within 50 ms, on both sides of what is heard."""
    song = make_pieces((120.0, 0.5))
    head, tail = (
        SongEdges(60.0, None, -12.0, 119.0, None, -12.0, None),
        SongEdges(0.0, None, -12.0, 60.0, 61.0, -90.0, None),
    )
    for fades, edge, edges in ((Fades(60.0, 0.1), "head", head), (Fades(0.0, 0.0, 61.0, 0.5), "tail", tail)):
        plain = cut_edge(song, fades, edge, edges)[0].samples  # type: ignore[arg-type]
        part = plain[24000:] if edge == "head" else plain[:-24000]
        for wave in (part, part[::-1]):
            assert np.abs(wave[:48]).max() < 0.001 and np.abs(wave[2400:4800]).max() > 0.4


def test_a_fade_that_ends_long_after_the_last_loud_moment_is_heard() -> None:
    """A soft end of 100 s that is no silence: the loop holds the fade, not only the loud part before it."""
    song = make_pieces((8.0, 0.5), (100.0, 0.01))
    edges = SongEdges(0.0, None, -12.0, 7.9, 8.0, -50.0, None)
    plain, _, start_s = cut_edge(song, Fades(0.0, 0.0, None, 10.0), "tail", edges)
    assert start_s + plain.duration_s - 0.5 == pytest.approx(108.0) and start_s < 98.0


def test_fades_that_do_not_fit_are_refused_in_one_line() -> None:
    """As where the song is made: what is longer than the song, or ends before it starts, is no crash."""
    song, edges = make_pieces((3.0, 0.5)), SongEdges(0.0, None, -12.0, 2.9, None, -12.0, None)
    for edge in ("head", "tail"):
        for fades in (Fades(0.0, 0.0, 1.0, 2.0), Fades(0.0, 0.0, None, 400.0), Fades(0.0, 5.0)):
            with pytest.raises(BadValue, match="at most in all"):
                cut_edge(song, fades, edge, edges)  # type: ignore[arg-type]
        with pytest.raises(BadValue, match="more than start_s"):
            cut_edge(song, Fades(2.0, 0.0, 1.0), edge, edges)  # type: ignore[arg-type]


def test_the_step_at_a_cut_is_measured() -> None:
    """A constant of 0.5 that stops steps by 0.5, −6.02 dBFS; a linear fade over 4800 frames ends at 0.5 / 9600."""
    clip = Clip(np.full((RATE_HZ * 4, 2), 0.5, np.float32), RATE_HZ)
    plain = check_fades(clip, Fades())
    assert plain.first_step_dbfs == plain.last_step_dbfs == pytest.approx(20 * math.log10(0.5), abs=0.01)
    faded = check_fades(clip, Fades(0.0, 0.1, None, 0.1, curve_out="linear"), ("tail",))
    # From one frame to the next it falls by 0.5 / 4800, at the very end by half of that.
    assert faded.last_step_dbfs == pytest.approx(20 * math.log10(0.5 / 4800), abs=0.05)
    assert faded.last_dbfs == pytest.approx(20 * math.log10(0.5 * 47.5 / 4800), abs=0.05)


def test_a_decision_on_an_end_decides_on_what_was_found_there() -> None:
    """Noise before the music goes with the head, a click amid the song with neither; what is sent back is a finding."""
    noise = Finding("head_noise", 0.0, 0.5, measured=True, strength=-60.0, unit="LUFS")
    click = Finding("click", 4.0, 4.0, measured=True)
    ring = Finding("noise", 9.0, 9.0, heard=True)
    assert [find_edge(each, EDGES) for each in (noise, click, ring)] == ["head", None, "tail"]
    taken = decide_edge((noise, click, ring), "head", "leave", EDGES, 0.0)
    assert [each.decision for each in taken] == ["leave", "open", "open"]
    assert tell_decision(taken, "head", EDGES, True) == "leave"
    sent = decide_edge((click,), "tail", "mix", EDGES, 12.0)
    assert (
        sent[-1].decision == "mix" and sent[-1].start_s == 12.0 and tell_decision(sent, "tail", EDGES, False) == "mix"
    )
    assert decide_edge(sent, "tail", "keep", EDGES, 12.0) == (click,)
    assert tell_decision((), "tail", EDGES, False) == "open"
