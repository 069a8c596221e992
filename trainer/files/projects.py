"""Projects in the data folder: a folder for each, with its sheet and the sheet's readable page.

What reads and writes a sheet is read itself when there is one: the window's first picture seldom needs it.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.errors import BadValue, EvenhandError
from trainer.files.paths import identify_file

if TYPE_CHECKING:
    from trainer.decisions.sheet import Sheet
    from trainer.decisions.target import Target

FOLDER, SHEET, PAGE = "projects", "sheet.yaml", "sheet.html"
LONGEST_NAME = 80
# Characters that a folder's name may not have somewhere.
UNFIT = re.compile(r'[<>:"/\\|?*\x00-\x1f]')
WritePage = Callable[[Path, "Sheet", "dict[str, Target]"], None]


class ProjectFolder:
    """Keep sheets in the data folder.

    Parameters
    ----------
    folder : Path
        The data folder; it exists.
    write_page : callable
        Writes a sheet's page.
    """

    def __init__(self, folder: Path, write_page: WritePage) -> None:
        self._data, self._folder, self._write_page = folder, folder / FOLDER, write_page
        self._targets: tuple[tuple[str, int, int], dict[str, Target]] | None = None
        self._unsettled: dict[tuple[str, int], tuple[str, ...]] = {}

    def list_names(self) -> tuple[str, ...]:
        """List the projects there are, the one that was changed last first."""
        found = [sheet for sheet in self._folder.glob(f"*/{SHEET}") if sheet.is_file()]
        return tuple(sheet.parent.name for sheet in sorted(found, key=lambda each: -each.stat().st_mtime))

    def read(self, name: str) -> Sheet:
        """Read a project's sheet.

        Raises
        ------
        BadValue, BadValues
            If there is none, or it cannot be understood.
        """
        path = self._find(name)
        if not path.is_file():
            known = ", ".join(self.list_names()) or "none yet"
            raise BadValue("project", "name", name, f"one of {known}")
        return _open(path)

    def write(self, sheet: Sheet) -> str:
        """Write a sheet, then its page; gives the page's path."""
        from trainer.files.sheet_file import write_sheet

        path = self._find(sheet.project)
        write_sheet(path, sheet)
        page = path.with_name(PAGE)
        self._write_page(page, sheet, self.list_targets())
        return str(page)

    def find_sheet(self, name: str) -> str:
        """Give the path of a project's sheet."""
        return str(self._find(name))

    def list_targets(self) -> dict[str, Target]:
        """List the delivery targets there are; they are read again only where the person's own file has changed."""
        from trainer.files.target_reading import FILE, list_targets

        known = identify_file(str(self._data / FILE))
        if self._targets is None or self._targets[0] != known:
            self._targets = known, list_targets(self._data)
        return self._targets[1]

    def list_unsettled(self) -> tuple[tuple[str, str], ...]:
        """List moves that an unfinished sheet has not settled; a sheet is read again only where it has changed."""
        found: list[tuple[str, str]] = []
        for name in self.list_names():
            path = self._find(name)
            key = (name, path.stat().st_mtime_ns)
            if key not in self._unsettled:
                try:
                    self._unsettled[key] = _open(path).list_unsettled()
                except EvenhandError:
                    self._unsettled[key] = ()
            found += [(move, name) for move in self._unsettled[key]]
        return tuple(found)

    def _find(self, name: str) -> Path:
        """Give the place of a sheet.

        Raises
        ------
        BadValue
            If the name cannot be a folder's.
        """
        plain = name.strip().rstrip(".")
        if not plain or len(plain) > LONGEST_NAME or UNFIT.search(plain) or plain != name:
            expected = f"1 to {LONGEST_NAME} characters that a folder's name may have"
            raise BadValue("project", "name", name or "nothing", expected)
        return self._folder / plain / SHEET


def _open(path: Path) -> Sheet:
    from trainer.files.sheet_file import open_sheet

    return open_sheet(path)
