"""Files whole or not at all: what is there after success, after errors, and after another process was ended."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest

from trainer.errors import BadValue
from trainer.files.bounce_writing import open_scratch
from trainer.files.whole_file import LEFT_BEHIND_S, write_all, write_whole


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


def fail_at(monkeypatch: pytest.MonkeyPatch, number: int) -> None:
    """Have one renaming refused, counted from 1."""
    done: list[Any] = []
    plain = Path.replace

    def replace(self: Path, target: Any) -> Path:
        done.append(target)
        if len(done) == number:
            raise PermissionError(13, "refused", str(self), None, str(target))
        return plain(self, target)

    monkeypatch.setattr(Path, "replace", replace)


def read_all(folder: Path) -> dict[str, bytes]:
    """Read all files of a folder."""
    return {path.name: path.read_bytes() for path in folder.iterdir()}


@pytest.mark.parametrize("number", [1, 2, 3, 4, 5])
@pytest.mark.parametrize("present", ["a", "b", "c", "ac", "abc", ""])
def test_all_names_are_given_or_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, present: str, number: int
) -> None:
    """By construction: whichever renaming is refused, each file holds what it held, and nothing else lies there."""
    paths = [tmp_path / name for name in "abc"]
    for name in present:
        (tmp_path / name).write_bytes(b"before")
    before = read_all(tmp_path)
    fail_at(monkeypatch, number)
    # What is there is put aside first, but for the last one.
    renamings = 3 + len(present.replace("c", ""))
    try:
        with write_all(paths) as besides:
            for beside in besides:
                beside.write_bytes(b"after")
        assert number > renamings
        assert read_all(tmp_path) == dict.fromkeys("abc", b"after")
    except PermissionError:
        assert number <= renamings
        assert read_all(tmp_path) == before


@pytest.mark.parametrize("at", [0, 1])
def test_a_folder_in_the_way_stays_where_it_is(tmp_path: Path, at: int) -> None:
    """By construction: a folder under one of the names: refused, with all that it holds, and no other file there."""
    paths = [tmp_path / "a", tmp_path / "b"]
    with pytest.raises(IsADirectoryError), write_all(paths) as besides:
        for beside in besides:
            beside.write_bytes(b"after")
        paths[at].mkdir()
        (paths[at] / "mine").write_bytes(b"mine")
    assert list(tmp_path.iterdir()) == [paths[at]] and read_all(paths[at]) == {"mine": b"mine"}


def test_one_that_was_not_written_keeps_all_as_they_were(tmp_path: Path) -> None:
    """By construction: of two files one was never written; the other one does not take its name either."""
    paths = [tmp_path / "a", tmp_path / "b"]
    for path in paths:
        path.write_bytes(b"before")
    for written in (0, 1):
        with pytest.raises(FileNotFoundError), write_all(paths, synced=False) as besides:
            besides[written].write_bytes(b"after")
        assert read_all(tmp_path) == dict.fromkeys("ab", b"before")


def test_folders_on_the_way_go_away_again(tmp_path: Path) -> None:
    """By construction: after an error only those folders are there that were; one that holds something stays."""
    with pytest.raises(OSError, match="full"), write_all([tmp_path / "new" / "deep" / "a", tmp_path / "new" / "b"]):
        raise OSError("full")
    with pytest.raises(KeyboardInterrupt), open_scratch(tmp_path / "new" / "deep" / "a"):
        raise KeyboardInterrupt
    assert list(tmp_path.iterdir()) == []
    (tmp_path / "file").write_bytes(b"mine")
    with pytest.raises(BadValue, match="a place that can be written"), open_scratch(tmp_path / "file" / "deep" / "a"):
        pass
    with pytest.raises(OSError, match="full"), write_whole(tmp_path / "new" / "deep" / "a"):
        (tmp_path / "new" / "mine").write_bytes(b"mine")
        raise OSError("full")
    assert {path.name for path in tmp_path.rglob("*")} == {"file", "new", "mine"}
