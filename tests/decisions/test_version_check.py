"""Versions of one master: the voice of a demo song alone, the song without it, and what is wrong with them."""

from __future__ import annotations

from functools import cache
from io import BytesIO

import numpy as np
import numpy.typing as npt
import pytest
import soundfile
from scipy.ndimage import maximum_filter1d, minimum_filter1d, uniform_filter1d

from tests.measure.recordings import FOLDER, RATE_HZ, cut_song, put_silence_before
from trainer.decisions.version_check import VersionFinding, VersionSound, check_versions, list_version_check
from trainer.decisions.version_check_words import word_version_check
from trainer.errors import BadValue

Sound = npt.NDArray[np.floating]
START_S, LENGTH_S = 16.0, 30.0
WITH_VOICE = ("nine_lanterns_on_the_slipway", "quarter_past_the_breakwater")


@cache
def cut_voice(name: str) -> Sound:
    """Cut the voice of a demo song where the song is cut."""
    samples, _ = soundfile.read(FOLDER / f"{name}.voice.flac", dtype="float32", always_2d=True)
    first = round(START_S * RATE_HZ)
    return np.asarray(samples[first : first + round(LENGTH_S * RATE_HZ)])


def cut_parts(name: str) -> tuple[Sound, Sound, Sound]:
    """Cut a demo song, what it is without its voice, and its voice; a stem is its part's share of the mix."""
    song, voice = cut_song(name, START_S, LENGTH_S), cut_voice(name)
    return song, song - voice, voice


def hold(name: str, samples: Sound, rate_hz: int = RATE_HZ) -> VersionSound:
    """Hold an array as if it had been read from a file."""
    stored = np.ascontiguousarray(samples, dtype=np.float32)
    return VersionSound(name, f"{name}.wav", stored, rate_hz, rate_hz, stored.shape[0])


def find(main: Sound, other: Sound) -> VersionFinding:
    """Check one version against a master."""
    check, strangers = check_versions(hold("main", main), (hold("other", other),))
    assert not strangers
    return check.findings[0]


def describe(main: Sound, *others: Sound) -> str:
    """Word a check of arrays."""
    check, _ = check_versions(hold("main", main), tuple(hold("abcdefg"[n], other) for n, other in enumerate(others)))
    return "\n".join(word_version_check(list_version_check(check)))


def limit(samples: Sound, drive_db: float) -> Sound:
    """Limit to 0.9 of full scale: the lowest gain within 5 ms, evened over as long. Our own means, for this test."""
    driven = samples * 10 ** (drive_db / 20)
    needed = np.minimum(1, 0.9 / np.maximum(maximum_filter1d(np.abs(driven).max(axis=1), 480), 1e-9))
    return np.asarray(driven * uniform_filter1d(minimum_filter1d(needed, 480), 480)[:, None])


def code(samples: Sound) -> Sound:
    """Code as MP3 by libmp3lame and decode by mpg123, as libsndfile brings them; their delay is taken out there."""
    held = BytesIO()
    soundfile.write(held, np.clip(samples, -1, 1), RATE_HZ, format="MP3")
    held.seek(0)
    return np.asarray(soundfile.read(held, dtype="float32", always_2d=True)[0])


@pytest.mark.parametrize("name", WITH_VOICE)
@pytest.mark.parametrize("part", [1, 2])
@pytest.mark.parametrize(("gain_db", "late", "polarity"), [(0.0, 0, 1), (-0.2, 1, -1), (0.3, 4801, 1), (1.0, -17, -1)])
def test_gain_place_and_polarity_by_construction(
    name: str, part: int, gain_db: float, late: int, polarity: int
) -> None:
    """By construction: without the voice the gain is right to 0.005 dB, of the voice alone to 0.05 dB."""
    parts = cut_parts(name)
    made = polarity * 10 ** (gain_db / 20) * parts[part]
    found = find(parts[0], put_silence_before(made, late) if late > 0 else made[-late:])
    assert (found.lag.offset_frames, found.lag.polarity) == (late, polarity) and found.longer_frames == late
    assert found.gain is not None and not found.gain.moves
    assert found.gain.gain_db == pytest.approx(gain_db, abs=(0.005, 0.05)[part - 1])
    assert found.same_gain is (gain_db == 0.0) and found.fits is (gain_db == 0.0)


def test_a_tenth_of_a_decibel_is_told_without_the_voice() -> None:
    """By construction; of a voice alone it is within what half a minute tells, and that is said."""
    song, rest, voice = cut_parts(WITH_VOICE[0])
    found = find(song, 10 ** (-0.1 / 20) * rest)
    assert found.same_gain is False and found.gain is not None and found.gain.error_db < 0.01
    alone = find(song, voice).gain
    assert alone is not None and 0.02 < alone.error_db < 0.1
    assert "0.10 dB softer where both hold the same sound" in describe(song, 10 ** (-0.1 / 20) * rest)


@pytest.mark.parametrize("name", WITH_VOICE)
def test_words(name: str) -> None:
    """By construction: parts as they should be add up to the song; late, short and soft they do not."""
    song, rest, voice = cut_parts(name)
    good = describe(song, rest, voice)
    assert good.count("Same gain, length and sync as main.") == 2
    assert "a and b, in step, add up to main:" in good
    bad = describe(song, put_silence_before(-0.5 * rest, 480)[:-1000], voice)
    for words in ("Begins 480 samples (10.00 ms) late.", "520 samples (10.83 ms) shorter.", "Upside down."):
        assert words in bad
    assert "6.02 dB softer where both hold the same sound" in bad and "do not add up to main:" in bad
    assert " -" not in good + bad and "nan" not in good + bad


def test_what_adds_up_leaves_what_was_put_in() -> None:
    """Closed form: a voice that is 1 dB too loud leaves 10^(1/20) − 1 of itself, −18.3 dB against the voice."""
    song, rest, voice = cut_parts(WITH_VOICE[0])
    check, _ = check_versions(hold("main", song), (hold("a", rest), hold("b", 10 ** (1 / 20) * voice)))
    (both,) = check.sums
    below = 10 * np.log10(np.sum(voice**2) / np.sum(song**2)) + 20 * np.log10(10 ** (1 / 20) - 1)
    assert both.left_db == pytest.approx(below, abs=0.01) and both.left_at_gains_db < below - 12


@pytest.mark.parametrize("part", [1, 2])
def test_limited_each_by_itself_it_says_that_no_one_gain_makes_them_equal(part: int) -> None:
    """By construction: a limiter holds the song down where the voice makes it loud, and its parts less."""
    parts = cut_parts(WITH_VOICE[1])
    found = find(limit(parts[0], 14.0), limit(parts[part], 14.0))
    assert found.gain is not None and found.gain.moves and found.same_gain is False and found.lag.offset_frames == 0
    assert found.gain.high_db > 0.5
    words = describe(limit(parts[0], 14.0), limit(parts[part], 14.0))
    assert "Its gain moves between" in words and "Same gain" not in words
    # The whole song through one limiter after all: one gain.
    assert find(limit(parts[0], 14.0), limit(parts[0], 14.0)).fits


@pytest.mark.parametrize("part", [1, 2])
def test_through_mp3_it_is_still_found(part: int) -> None:
    """Coded by libmp3lame: the place to the sample, the gain within what is stated and 0.2 dB."""
    parts = cut_parts(WITH_VOICE[0])
    if "MP3" not in soundfile.available_formats():
        pytest.skip("libsndfile has no MP3")
    coded = code(10 ** (-0.5 / 20) * parts[part])
    found = find(parts[0], coded)
    assert found.lag.offset_frames == 0 and found.lag.polarity == 1 and found.gain is not None
    assert found.gain.gain_db == pytest.approx(-0.5, abs=max(0.02, min(0.2, 2 * found.gain.error_db)))
    assert found.same_gain is False


def test_a_clean_version_is_the_same_elsewhere() -> None:
    """By construction: two words are muted; gain, length and place are the master's."""
    song, rest, _ = cut_parts(WITH_VOICE[0])
    clean = song.copy()
    for at_s in (8.0, 21.5):
        clean[round(at_s * RATE_HZ) : round((at_s + 0.4) * RATE_HZ)] = rest[round(at_s * RATE_HZ) :][
            : round(0.4 * RATE_HZ)
        ]
    assert find(song, clean).fits and not find(song, 1.02 * clean).fits


def test_another_song_is_no_version() -> None:
    """By construction: another song, and the voice of another one; a line for each, and the rest is answered."""
    song, rest, _ = cut_parts(WITH_VOICE[0])
    others = (hold("other", cut_song("slack_water_voltage", 10.0, 30.0)), hold("voice", cut_voice(WITH_VOICE[1])))
    check, strangers = check_versions(hold("main", song), (*others, hold("rest", rest)))
    assert [found.sound.name for found in check.findings] == ["rest"]
    assert [str(line).split(":")[0] for line in strangers] == ["other", "voice"]
    assert all("0.10 or more against main" in str(line) for line in strangers)
    with pytest.raises(BadValue, match="2 to 8 versions"):
        check_versions(hold("main", song), ())
