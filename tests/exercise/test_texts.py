"""The words of all drills: spelling, units, signs, and nothing said twice."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import fields

import pytest
from spellchecker import SpellChecker

from trainer.exercise.drill import Drill, Teaching

# Words of the trade, and British spellings, that a general dictionary does not have.
OWN_WORDS = [
    "boomy",
    "centre",
    "codec",
    "codecs",
    "colour",
    "colours",
    "equaliser",
    "limiter",
    "mids",
    "metre",
    "neighbour",
    "neighbours",
    "recognise",
    "henin",
    "krauel",
    "lipshitz",
    "ronan",
    "santis",
    "toole",
    "vanderkooy",
    "vorbis",
    "wagenaars",
]
UNITS = r"(?:dB|dBTP|LUFS|LU|Hz|kHz|ms|s|%|kb/s|samples|degrees|bits|bit)"


def list_texts(drill: Drill) -> Iterator[tuple[str, str]]:
    """List every text of a drill with its key."""
    for key in ("title", "subtitle", "question", "short_question", "processed_words"):
        yield key, getattr(drill, key)
    for each in fields(Teaching):
        yield each.name, getattr(drill.teaching, each.name)
    for choice in drill.choices:
        yield "words", choice.words
    yield "usual_source", drill.amount.usual_source
    yield "typical_source", drill.amount.typical_source


@pytest.fixture(scope="module")
def texts(request: pytest.FixtureRequest) -> list[tuple[str, str, str]]:
    """Give drill, key and text of all."""
    drills: dict[str, Drill] = request.getfixturevalue("drills")
    return [(name, key, text) for name, drill in drills.items() for key, text in list_texts(drill)]


def test_no_teaching_is_said_twice(texts: list[tuple[str, str, str]]) -> None:
    """Titles, lines and teaching are each drill's own, sentence by sentence; a question and a source may recur."""
    own = [(key, text) for _, key, text in texts if key not in ("question", "short_question", "words")]
    own = [(key, text) for key, text in own if not key.endswith("_source")]
    sentences = Counter(s.strip() for _, text in own for s in re.split(r"(?<=[.;?])\s+", text))
    assert {sentence: n for sentence, n in sentences.items() if n > 1} == {}


def test_words_are_spelt_as_in_the_dictionary(texts: list[tuple[str, str, str]]) -> None:
    """An open word list (pyspellchecker's English one) with this trade's words added."""
    speller = SpellChecker()
    speller.word_frequency.load_words(OWN_WORDS)
    words = {
        word: (name, key)
        for name, key, text in texts
        for word in re.findall(r"[A-Za-z][a-z'’]+", text.replace("{amount}", ""))
    }
    unknown = speller.unknown(words)
    assert {word: words.get(word, "") for word in sorted(unknown)} == {}


def test_signs_and_units_are_written_in_one_way(texts: list[tuple[str, str, str]]) -> None:
    """A real minus sign, a space before the unit, ranges in words, one space, an end to each sentence (SI brochure)."""
    for name, key, text in texts:
        where = f"{name}, {key}: {text}"
        assert not re.search(r"(?<![A-Za-z0-9])-\d", text), where
        assert not re.search(rf"\d{UNITS}\b", text.replace("kb/s", "kb")), where
        assert not re.search(r"\d\s?[–-]\s?\d", text), where
        assert "  " not in text and text == text.strip() and "..." not in text, where
        if key in {each.name for each in fields(Teaching)}:
            assert text[-1] in ".?" and text[0].isupper(), where
        if key == "question":
            assert text.endswith("?"), where
        if key in ("title", "subtitle", "short_question", "words", "usual_source", "typical_source"):
            assert not text.endswith("."), where


def test_spelling_is_british(texts: list[tuple[str, str, str]]) -> None:
    """Common American forms stay out."""
    american = re.compile(
        r"\b\w*(?:equaliz|color\b|colors|center|gray\b|favor|behavior|meter(?:s)? away|harmoniz|analyz)\w*", re.I
    )
    assert [(name, key, text) for name, key, text in texts if american.search(text)] == []


def test_a_question_never_tells_the_answer(texts: list[tuple[str, str, str]]) -> None:
    """No version's number, no "processed", no "better" where taste is not the question."""
    for name, key, text in texts:
        if key in ("question", "subtitle"):
            assert not re.search(r"\bprocessed\b", text), (name, text)
