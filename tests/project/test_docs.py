"""The documents say what is so: commands, options, moves, forms, pictures, cautions; and nothing lies about."""

from __future__ import annotations

import argparse
import re
import subprocess
from pathlib import Path

import pytest

from trainer.cli import build_parser
from trainer.dsp.moves import MOVES
from trainer.exercise.drill import Drill
from trainer.exercise.forms import FORMS
from trainer.exercise.quantities import QUANTITIES
from trainer.session.words import CAUTIONS

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "trainer", "exercises", "tests", "audio_demo"}


def list_commands() -> dict[str, argparse.ArgumentParser]:
    """List the command line's commands."""
    parser = build_parser()
    (action,) = (a for a in parser._actions if isinstance(a, argparse._SubParsersAction))
    return dict(action.choices)


def test_every_command_is_in_the_readme_and_explains_itself() -> None:
    """Each command with an example, each option with a sentence."""
    for name, command in list_commands().items():
        assert f"evenhand {name}" in README, name
        assert all(action.help for action in command._actions), name


def test_every_command_of_the_readme_exists() -> None:
    """`evenhand WORD` is a command or an option."""
    words = set(re.findall(r"`evenhand ([a-z]+)", README))
    assert words <= set(list_commands())


def test_pictures_and_links_lead_somewhere() -> None:
    """Relative links of the documents."""
    for document in ("README.md", "DEVELOPERS.md", "exercises/README.md", "audio_demo/README.md"):
        path = ROOT / document
        for target in re.findall(r"\]\((?!https?:)([^)#]+)\)", path.read_text(encoding="utf-8")):
            assert (path.parent / target).exists(), f"{document}: {target}"


def test_the_readme_opens_with_the_job_and_two_commands_of_one_line() -> None:
    """One paragraph, then a line to open and a line to test, for each system."""
    blocks = README.split("\n\n")
    assert blocks[0] == "# Evenhand" and len(blocks[1].splitlines()) == 1 and len(blocks[1]) > 200
    lines = re.findall(r"^(?:python3|py) -m venv .*$", README, flags=re.MULTILINE)
    assert len(lines) == 4
    assert all("&&" in line for line in lines)


@pytest.mark.parametrize("fact", ["80 dBA", "75 dBA", "3 dB", "ring", "audiologist", "physician", "local rules"])
def test_the_cautions_are_in_the_readme_and_in_the_program(fact: str) -> None:
    """WHO/ITU safe listening (Rec. ITU-T H.870): the reference, and what the program cannot know."""
    assert fact in README and fact in " ".join(CAUTIONS)


def test_moves_and_quantities_have_words(drills: dict[str, Drill]) -> None:
    """Each setting has a name for people; each move and form is used by a drill."""
    for move in MOVES.values():
        assert {parameter.name for parameter in move.parameters} <= set(QUANTITIES)
        assert move.effect_name in QUANTITIES
    assert {drill.move for drill in drills.values()} <= set(MOVES)
    assert {drill.form for drill in drills.values()} <= set(FORMS)
    reference = (ROOT / "exercises" / "README.md").read_text(encoding="utf-8")
    assert all(f"| `{move.name}` | {move.title} | " in reference for move in MOVES.values())
    assert all(f"| `{form}` | " in reference for form in FORMS)


def test_nothing_else_lies_at_the_top() -> None:
    """The client's list of the top level."""
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    if listed.returncode:
        pytest.skip("not a git checkout")
    top = {line.split("/")[0] for line in listed.stdout.splitlines()}
    assert {name for name in top if not name.startswith(".")} == TOP_LEVEL
