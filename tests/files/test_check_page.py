"""The page of a check: whole HTML, pictures, words, nothing that could be taken for markup."""

from __future__ import annotations

from html.parser import HTMLParser
from pathlib import Path

import pytest

from tests.decisions.test_delivery import gather, make_song, make_target
from trainer.decisions.delivery import judge_delivery, list_check
from trainer.decisions.pictures import gather_pictures
from trainer.errors import BadValue
from trainer.files.check_page import make_page, write_check_page

VOID = {"meta", "br", "rect", "circle", "polyline", "polygon", "path"}


class Balance(HTMLParser):
    """See that every element that is opened is closed, in order."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Open an element."""
        self.seen.append(tag)
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        """Close one."""
        if tag not in VOID:
            assert self.open.pop() == tag


@pytest.fixture(scope="module")
def page() -> str:
    """The page of a song with a click, judged by a ceiling, under a name that is full of marks."""
    song = make_song(0.95)
    song[150000] += 0.4
    evidence, target = gather(song), make_target()
    check = list_check(evidence, target, judge_delivery(evidence, target))
    return make_page(check | {"file": 'a/<b>&"mix".wav'}, gather_pictures(evidence, target))


def test_the_page_is_whole(page: str) -> None:
    """HTML: elements nest; three pictures; nothing is fetched from elsewhere."""
    parser = Balance()
    parser.feed(page)
    assert parser.open == [] and parser.seen.count("svg") == 3
    assert "<b>" not in page and "&lt;b&gt;" in page
    assert "http://" not in page.replace("http://www.w3.org/2000/svg", "") and "https://" not in page
    assert "<script" not in page and "<link" not in page


def test_the_page_says_what_the_check_says(page: str) -> None:
    """The verdict with its reason and origin, the fault with its place."""
    assert "True peak" in page and "recommendation: EBU R 128, item m, 2023-11-01" in page
    assert "click at 3.1" in page and "fail" in page


def test_a_page_that_cannot_be_written(tmp_path: Path, page: str) -> None:
    """A file where a folder is needed: one line."""
    (tmp_path / "taken").write_text("")
    evidence = gather(make_song())
    with pytest.raises(BadValue, match="--page"):
        write_check_page(
            tmp_path / "taken" / "page.html", list_check(evidence, None, ()), gather_pictures(evidence, None)
        )
