"""Ends of songs whose decay is known by construction; fades in steps, on bar lines by arithmetic, cut out of a song."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.decisions.steady_songs import RATE_HZ
from tests.decisions.test_fade_proposals import gather, make_song
from trainer.audio.clip import Clip
from trainer.decisions.fade_proposals import apply_fades, check_fades
from trainer.decisions.fade_steps import (
    cut_edge,
    is_taken,
    leave_edge,
    list_bar_lengths,
    put_on_bar,
    read_tempo,
    step_length,
    take_edge,
)
from trainer.decisions.marks import decide_edge, find_edge, tell_decision
from trainer.decisions.sheet import Fades, Finding
from trainer.decisions.song_edges import SongEdges, read_edges
from trainer.errors import BadValue

EDGES = SongEdges(0.5, None, -18.0, 8.5, 10.5, -90.0, 30.0)


@pytest.mark.parametrize("decay_s", [1.0, 3.0])
def test_the_decay_is_that_of_the_room(decay_s: float) -> None:
    """A ring that falls by 60 dB in a time falls by 60 / time dB a second (definition of the reverberation time)."""
    edges = read_edges(gather(make_song(decay_s=decay_s)))
    assert edges.decay_db_per_s == pytest.approx(60 / decay_s, rel=0.02)
    assert edges.music_from_s == pytest.approx(0.5, abs=0.01) and edges.last_loud_s > 8.4
    assert edges.room_ends_s is not None and edges.room_ends_s > edges.last_loud_s


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
    bars = read_tempo("92 3", 0.5)
    assert bars == (0.5, pytest.approx(180 / 92)) and read_tempo("120", 0.0) == (0.0, 2.0)
    fades = Fades(0.0, 0.0, 30.0, 5.0)
    for tried in (put_on_bar(fades, 31.0, bars), step_length(put_on_bar(fades, 31.0, bars), "tail", 1, 31.0, bars)):
        count = (30.0 - tried.fade_out_s - 0.5) / bars[1]
        assert count == pytest.approx(round(count), abs=1e-3)
    assert abs(put_on_bar(fades, 31.0, bars).fade_out_s - 5.0) <= bars[1] / 2
    assert put_on_bar(Fades(), 31.0, bars) == Fades()
    assert list_bar_lengths(0.3, bars) == (0.0,)
    for text in ("fast", "20", "92 0", "92 x"):
        with pytest.raises(BadValue, match="beats per minute"):
            read_tempo(text, 0.0)


def test_head_and_tail_are_taken_each_by_itself() -> None:
    """One end changes, the other does not; a sheet without any fade is as it was."""
    tried = Fades(0.4, 0.05, 10.0, 0.5, "linear")
    head = take_edge(Fades(), tried, "head")
    assert head == Fades(0.4, 0.05, None, 0.0, "linear") and is_taken(head, "head") and not is_taken(head, "tail")
    assert take_edge(head, tried, "tail") == tried
    assert leave_edge(tried, "head") == Fades(0.0, 0.0, 10.0, 0.5, "linear")
    assert leave_edge(leave_edge(tried, "head"), "tail") == Fades()


@pytest.mark.parametrize("curve", ["raised_cosine", "linear", "equal_power"])
def test_what_is_heard_is_what_will_be_made(curve: str) -> None:
    """Between the ramps of the loop the cut is the faded song, sample by sample, and silence outside it."""
    song, fades = make_song(), Fades(0.4, 0.05, 10.0, 0.5, curve)
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
        assert (plain.samples[: lead or None][:lead] == 0).all()
        assert (faded.samples[-24000:] == 0).all() if edge == "tail" else np.abs(faded.samples[-1]).max() < 1e-3


def test_the_step_at_a_cut_is_measured() -> None:
    """A constant of 0.5 that stops steps by 0.5, −6.02 dBFS; a linear fade over 4800 frames ends at 0.5 / 9600."""
    clip = Clip(np.full((RATE_HZ * 4, 2), 0.5, np.float32), RATE_HZ)
    plain = check_fades(clip, Fades())
    assert plain.first_step_dbfs == plain.last_step_dbfs == pytest.approx(20 * math.log10(0.5), abs=0.01)
    faded = check_fades(clip, Fades(0.0, 0.1, None, 0.1, "linear"), ("tail",))
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
