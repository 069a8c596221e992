"""Mixes that are not as they should be: what follows from it, and what to do, for each kind."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from scipy.signal import firwin, lfilter

from tests.decisions.test_delivery import RATE_HZ, find_items, gather, make_song
from tests.measure.sounds import noise
from trainer.decisions.intake import IntakeItem, examine_mix


def find(items: tuple[IntakeItem, ...], topic: str) -> IntakeItem:
    """Give what is said on a topic, once, with a next step."""
    (item,) = [item for item in items if item.topic == topic]
    assert item.next_step and item.reason.endswith(".")
    return item


@pytest.mark.parametrize(
    ("rate_hz", "end", "missing"),
    [(8000, "4 kHz", "brightness, s sounds and cymbals"), (22050, "11 kHz", "the top of cymbals and air")],
)
def test_a_low_rate_says_what_cannot_be_judged(rate_hz: int, end: str, missing: str) -> None:
    """Nyquist: a file holds nothing above half its rate, and is not said to reach up without a cliff."""
    item = find(examine_mix(gather(noise(4 * rate_hz, 0.1, 3), rate_hz=rate_hz)), "source")
    assert item.outcome == "warn" and f"nothing above {end}: {missing} cannot be judged" in item.reason
    assert item.next_step == "Bounce again at 44.1 or 48 kHz."


def test_a_low_rate_that_was_converted_is_a_cliff() -> None:
    """By construction: all above 4 kHz taken away by a filter that needs 300 Hz for it, in a file of 48 kHz."""
    song = noise(4 * RATE_HZ, 0.1, 3)
    item = find(examine_mix(gather(lfilter(firwin(511, 4000, fs=RATE_HZ), 1.0, song, axis=0))), "source")
    end = re.match(r"Above (\d(?:\.\d)?) kHz there is next to nothing", item.reason)
    assert item.outcome == "warn" and end is not None and "s sounds" in item.reason
    assert float(end[1]) == pytest.approx(4.0, abs=0.3)


def test_a_rate_of_music_is_no_low_one() -> None:
    """IEC 60908: 44.1 kHz is a disc's rate."""
    assert find_items(noise(4 * 44100, 0.1, 3), "source", rate_hz=44100)[0].outcome == "pass"


@pytest.mark.parametrize(
    ("length_s", "said"),
    [
        (12.0, "12 s long: too short for a quiet stretch apart from the loud one, a loudness range or how a song"),
        (25.0, "25 s long: too short for a loudness range or how a song goes on"),
        (1500.0, "25 min long, and is taken for one song"),
        (31.0, ""),
        (600.0, ""),
    ],
)
def test_lengths(length_s: float, said: str) -> None:
    """Arithmetic: two stretches of 8 s need 16 s; half a minute and 15 min are common practice, no source."""
    evidence = gather(make_song()[: 5 * RATE_HZ])
    programme, form = evidence.programme, evidence.form
    long = replace(
        evidence,
        programme=replace(programme, frames=round(length_s * RATE_HZ)),
        form=replace(form, frames=round(length_s * RATE_HZ)),
    )
    items = examine_mix(long)
    if said:
        item = find(items, "length")
        assert item.outcome == "warn" and item.reason.startswith(f"It is {said}")
    else:
        assert not any(item.topic == "length" for item in items)


def test_one_channel_and_two_that_are_one() -> None:
    """Arithmetic: a side 70 dB below the middle is none, one of 40 dB is; both are heard as one place."""
    middle, side = make_song()[:, :1], noise(make_song().shape[0], 1.0, 9)[:, :1]
    side *= np.sqrt(np.mean(middle**2) / np.mean(side**2))
    one = find(examine_mix(gather(middle)), "sides")
    assert one.outcome == "warn" and one.reason.startswith("The file has one channel: width and places cannot")
    for level_db, outcome in ((-70.0, "warn"), (-40.0, "pass")):
        both = np.hstack([middle + 10 ** (level_db / 20) * side, middle - 10 ** (level_db / 20) * side])
        found = find(examine_mix(gather(both)), "sides")
        assert found.outcome == outcome
        assert found.reason.startswith("Both channels hold the same sound") == (outcome == "warn")


def test_what_was_cut_or_limited_says_what_follows() -> None:
    """By construction: flat tops cannot be given back; nor can what a limiter took."""
    song = make_song(0.9)
    assert "no move here gives them back" in find(examine_mix(gather(np.clip(song, -0.36, 0.36))), "peaks").reason
    pressed = find(examine_mix(gather(0.8 * np.tanh(12 * song))), "limiter")
    assert "cannot be given back" in pressed.reason and pressed.next_step.startswith("Bounce once more without it")
