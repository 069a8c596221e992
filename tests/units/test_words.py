"""Words that begin a sentence, and words that go on with one."""

from __future__ import annotations

import pytest

from trainer.units import begin_large, begin_small, write_moment


@pytest.mark.parametrize(
    ("words", "large"),
    [
        ("a click", "A click"),
        ("mono B of it", "Mono B of it"),
        ("−3 dB of it", "−3 dB of it"),
        ("éclat", "Éclat"),
        ("", ""),
    ],
)
def test_only_the_first_letter_becomes_large(words: str, large: str) -> None:
    """By construction: unlike `str.capitalize`, the rest stays as it is; a sign or nothing has no large form."""
    assert begin_large(words) == large


@pytest.mark.parametrize(
    ("words", "small"),
    [
        ("Begin the pass", "begin the pass"),
        ("A last listen", "a last listen"),
        ("I have set it", "I have set it"),
        ("LUFS first", "LUFS first"),
        ("12 picks", "12 picks"),
        ("Four around −14 LUFS", "four around −14 LUFS"),
        ("", ""),
    ],
)
def test_the_first_letter_becomes_small_but_of_names(words: str, small: str) -> None:
    """English: `I` and words in capitals keep them within a sentence."""
    assert begin_small(words) == small


@pytest.mark.parametrize(
    ("time_s", "words"),
    [
        (0.0, "0.00 s"),
        (0.4, "0.40 s"),
        (59.994, "59.99 s"),
        (59.996, "1:00.00"),
        (178.0, "2:58.00"),
        (605.25, "10:05.25"),
    ],
)
def test_a_moment_is_written_to_the_hundredth(time_s: float, words: str) -> None:
    """Arithmetic: sixty seconds are a minute, also where rounding makes them."""
    assert write_moment(time_s) == words
