"""Files whole or not at all: what is there after success, after errors, and after another process was ended."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from trainer.files.whole_file import LEFT_BEHIND_S, write_whole


@pytest.mark.parametrize("synced", [True, False])
@pytest.mark.parametrize("name", ["sheet.yaml", "Möwe [1] *.wav", "ß" * 120 + ".wav"])
def test_what_is_whole_takes_the_name(tmp_path: Path, name: str, synced: bool) -> None:
    """By construction: the old file stays until the new one is whole; folders on the way are made."""
    path = tmp_path / "new" / name
    for data in (b"one", b"two"):
        with write_whole(path, synced) as beside:
            beside.write_bytes(data)
            assert not path.exists() or path.read_bytes() == b"one"
    assert path.read_bytes() == b"two" and list(path.parent.iterdir()) == [path]


@pytest.mark.parametrize("error", [OSError("full"), KeyboardInterrupt(), SystemExit(143)])
def test_after_an_error_all_is_as_it_was(tmp_path: Path, error: BaseException) -> None:
    """By construction: whatever ends the writing, the file keeps what it had and nothing lies beside it."""
    path = tmp_path / "a.wav"
    path.write_bytes(b"before")
    with pytest.raises(type(error)), write_whole(path) as beside:
        beside.write_bytes(b"half")
        raise error
    assert path.read_bytes() == b"before" and list(tmp_path.iterdir()) == [path]


def test_nothing_written_is_no_file(tmp_path: Path) -> None:
    """By construction: where nobody wrote, nothing takes the name."""
    with pytest.raises(FileNotFoundError), write_whole(tmp_path / "a.wav"):
        pass
    assert list(tmp_path.iterdir()) == []


def test_what_an_ended_process_left_is_taken_away_later(tmp_path: Path) -> None:
    """By construction: only what is old and lies beside the same file; another one's stays."""
    path, other = tmp_path / "a [1].wav", tmp_path / "b.wav"
    lefts = []
    for each in (path, other):
        with pytest.raises(OSError, match="found"), write_whole(each) as beside:
            lefts.append(beside.with_name(beside.name.replace(str(os.getpid()), "1")))
            raise OSError("found")
    fresh = lefts[0].with_name(lefts[0].name.replace(".1.part", ".2.part"))
    for left in (*lefts, fresh):
        left.write_bytes(b"half")
    for left in lefts:
        os.utime(left, (left.stat().st_mtime - 2 * LEFT_BEHIND_S,) * 2)
    with write_whole(path) as beside:
        beside.write_bytes(b"whole")
    assert set(tmp_path.iterdir()) == {path, fresh, lefts[1]}
