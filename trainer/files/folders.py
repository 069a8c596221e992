"""Where things are: what ships with the program, and the one folder with all that a person makes."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import platformdirs

from trainer.errors import BadValue


def find_bundled(name: str) -> Path:
    """Find a shipped folder, ``exercises`` or ``audio_demo``, in a wheel or beside the package in a checkout.

    Raises
    ------
    BadValue
        If the installation lacks it.
    """
    package = Path(str(resources.files("trainer")))
    for folder in (package / "_data" / name, package.parent / name):
        if folder.is_dir():
            return folder
    raise BadValue("installation", "folder", name, "a folder that ships with Evenhand; install it again")


def choose_data_folder(wished: str | None) -> Path:
    """Choose the data folder: the wished one, else the platform's user data folder."""
    return Path(wished).expanduser() if wished else Path(platformdirs.user_data_dir("evenhand", appauthor=False))


def open_folder(folder: Path, where: str) -> Path:
    """Make a folder with its parents and see that it can be written.

    Raises
    ------
    BadValue
        If it cannot.
    """
    probe = folder / ".evenhand_probe"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        probe.write_bytes(b"")
        probe.unlink()
    except OSError as error:
        raise BadValue(where, "path", folder, f"a folder that can be written ({_reason(error)})") from None
    return folder


def _reason(error: OSError) -> str:
    return (error.strerror or type(error).__name__).lower()
