"""Who may import whom: read from the imports themselves. The table is the one in DEVELOPERS.md."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "trainer"

BASE = {"errors", "units"}
MAY_IMPORT: dict[str, set[str]] = {
    "errors": set(),
    "units": set(),
    "audio": BASE,
    "measure": BASE | {"audio"},
    "listening": {"errors"},
    "dsp": BASE | {"audio", "measure"},
    "exercise": BASE | {"audio", "measure", "dsp", "listening"},
    "decisions": BASE | {"audio", "measure", "dsp", "listening"},
    "ports": {"exercise", "decisions"},
    "session": BASE | {"exercise", "decisions", "listening", "ports", "init"},
    "files": BASE | {"audio", "exercise", "decisions", "session"},
    "playback": BASE | {"ports"},
    "store": BASE | {"exercise"},
    "workshop": BASE | {"dsp", "exercise", "ports"},
    "ui": BASE | {"session"},
    "text": BASE | {"session"},
}
PURE = {"errors", "units", "audio", "measure", "listening", "dsp", "exercise", "decisions", "ports", "session"}
IMPURE_MODULES = {"os", "sys", "time", "pathlib", "io", "random", "subprocess", "socket", "threading", "sqlite3"}
ONE_DOOR = {
    "pygame": {"ui", "playback/sdl.py"},
    "sounddevice": {"playback/portaudio.py"},
    "soundfile": {"files"},
    "yaml": {"files"},
    "sqlite3": {"store"},
    "pyloudnorm": {"measure/second_reading.py"},
    "platformdirs": {"files"},
    "multiprocessing": {"workshop"},
}
NETWORK = {"socket", "http", "urllib", "ssl", "asyncio", "ftplib", "requests"}


def list_modules() -> list[Path]:
    """List every module of the package."""
    return sorted(PACKAGE.rglob("*.py"))


def find_room(path: Path) -> str:
    """Name the room of a module."""
    first = path.relative_to(PACKAGE).parts[0]
    return first.removesuffix(".py")


def list_imports(path: Path) -> set[str]:
    """List the full names of what a module imports, inside functions too."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: a relative import"
            names.add(node.module or "")
            if node.module == "trainer":
                names |= {f"trainer.{alias.name}" for alias in node.names}
    return names


@pytest.mark.parametrize("path", list_modules(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_a_module_imports_only_what_its_room_may(path: Path) -> None:
    """The house's own rule."""
    room = find_room(path)
    if room in ("app", "cli", "__main__", "__init__"):
        return
    rooms = {name.split(".")[1] for name in list_imports(path) if name.startswith("trainer.")}
    rooms = {"init" if name == "__version__" else name for name in rooms}
    assert rooms - {room} <= MAY_IMPORT[room], f"{room} imports {sorted(rooms - {room} - MAY_IMPORT[room])}"


@pytest.mark.parametrize("path", list_modules(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_pure_rooms_touch_no_world_and_libraries_have_one_door(path: Path) -> None:
    """The house's own rule; and nothing of the program speaks to a network."""
    room, place = find_room(path), path.relative_to(PACKAGE).as_posix()
    tops = {name.split(".")[0] for name in list_imports(path)}
    if room in PURE:
        assert not tops & IMPURE_MODULES, f"{place} is pure and imports {sorted(tops & IMPURE_MODULES)}"
    assert not tops & NETWORK
    for library, doors in ONE_DOOR.items():
        if library in tops:
            assert room in doors or place in doors, f"{place} imports {library}"


def test_sounddevice_is_imported_only_when_a_device_is_opened() -> None:
    """A missing PortAudio library must not stop the program: the import is inside functions."""
    tree = ast.parse((PACKAGE / "playback" / "portaudio.py").read_text(encoding="utf-8"))
    at_top = [node for node in tree.body if isinstance(node, (ast.Import, ast.ImportFrom))]
    assert all("sounddevice" not in ast.dump(node) for node in at_top)


def test_no_global_random_state_in_pure_rooms() -> None:
    """Randomness is an argument."""
    for path in list_modules():
        if find_room(path) in PURE:
            text = path.read_text(encoding="utf-8")
            assert not re.search(r"np\.random\.(seed|rand|randn|normal|uniform)\b", text), path
            assert "default_rng()" not in text, path


def test_the_table_in_the_developers_guide_is_this_one() -> None:
    """DEVELOPERS.md shows each room with what it may import."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = dict(re.findall(r"^\| `(\w+)` \| (?:pure|adapter) \| ([^|]*) \|", text, flags=re.MULTILINE))
    for room, allowed in MAY_IMPORT.items():
        shown = set(re.findall(r"`(\w+)`", rows[room]))
        assert shown == {name for name in allowed if name != "init"}, room


def test_files_are_short_enough_to_read() -> None:
    """No file over 400 lines."""
    long = [p for p in [*list_modules(), *(ROOT / "tests").rglob("*.py")] if len(p.read_text().splitlines()) > 400]
    assert not long
