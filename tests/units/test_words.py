"""Words that begin a sentence, and words that go on with one."""

from __future__ import annotations

import pytest

from trainer.units import begin_large, begin_small


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
