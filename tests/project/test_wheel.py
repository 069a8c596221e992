"""The wheel carries everything: built, installed in a new environment, and run from another folder."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the wheel with the backend that pyproject.toml names."""
    folder = tmp_path_factory.mktemp("wheel")
    script = f"import hatchling.build as b; print(b.build_wheel({str(folder)!r}))"
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)
    return folder / done.stdout.strip().splitlines()[-1]


def test_the_wheel_holds_drills_songs_and_fonts(wheel: Path) -> None:
    """Everything that is found at run time is inside."""
    names = zipfile.ZipFile(wheel).namelist()
    for wanted in ("_data/exercises/02_balance.yaml", "_data/audio_demo/songs.yaml", "ui/fonts/Lato-Regular.ttf"):
        assert f"trainer/{wanted}" in names
    assert any(name.endswith(".flac") for name in names)
    assert not any(name.startswith(("tests/", "exercises/", "audio_demo/")) for name in names)


def test_an_installed_wheel_runs_from_any_folder(wheel: Path, tmp_path: Path) -> None:
    """A new environment with the wheel alone; the libraries it needs are lent by this one."""
    home = tmp_path / "environment"
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", home], check=True)
    scripts = home / ("Scripts" if os.name == "nt" else "bin")
    python = scripts / ("python.exe" if os.name == "nt" else "python")
    lent = [path for path in sys.path if path.endswith("site-packages")]
    site = subprocess.run(
        [python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"],
        capture_output=True, text=True, check=True,
    ).stdout.strip()  # fmt: skip
    subprocess.run(
        [sys.executable, "-m", "pip", "-q", "install", "--no-deps", "--no-index", "--target", site, wheel], check=True
    )
    script = f"import sys; sys.path += {lent!r}; from trainer.cli import main; sys.exit(main({{arguments!r}}))"
    environment = {**os.environ, "EVENHAND_DATA": str(tmp_path / "data")}
    environment.pop("PYTHONPATH", None)

    def run(*arguments: str) -> str:
        done = subprocess.run(
            [python, "-c", script.format(arguments=list(arguments))],
            cwd=tmp_path, env=environment, capture_output=True, text=True, check=True,
        )  # fmt: skip
        return done.stdout

    drills = {drill["drill"] for drill in json.loads(run("list", "drills", "--json"))}
    assert {"high_shelf_8k", "limiting"} <= drills
    receipt = json.loads(Path(run("render", "high_shelf_8k", "--out", str(tmp_path / "out")).strip()).read_text())
    assert receipt["trials"][0]["spread_lu"] < 0.05
    where = subprocess.run(
        [python, "-c", f"import sys; sys.path += {lent!r}; import trainer; print(trainer.__file__)"],
        cwd=tmp_path, env=environment, capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    assert str(home) in where, "the wheel was not what ran"
