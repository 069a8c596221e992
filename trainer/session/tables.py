"""Pictures that are lists: readings in two columns, and shares as bars."""

from __future__ import annotations

from collections.abc import Sequence

from trainer.session.axes import letter_width
from trainer.session.figure import Area, Figure, Label, Path, Shape

_SIZE, _LINE, _TOP = 13.0, 24.0, 18.0
_BAR, _SHARE_LINE = 8.0, 42.0


def readings(rows: Sequence[tuple[str, str]], width: float, height: float) -> Figure:
    """List readings, name on the left and value on the right, as many as there is room for.

    Parameters
    ----------
    rows : sequence of (str, str)
        Name, and value with its unit.
    width, height : float
        Size in design pixels, at least 280 by 60; a short list takes less height.
    """
    shapes: list[Shape] = []
    for number, (name, value) in enumerate(rows[: max(1, int((height - _TOP) / _LINE) + 1)]):
        y = _TOP + _LINE * number
        shapes += [Label((0, y), name, "ink", _SIZE), Label((width, y), value, "ink", _SIZE, "bold", "right")]
        shapes.append(Path(((0, y + 7), (width, y + 7)), "rule", 1.0))
    used = min(height, _TOP + _LINE * len(rows))
    return Figure(width, used, tuple(shapes), "; ".join(f"{name}: {value}" for name, value in rows))


def shares(rows: Sequence[tuple[str, float, float]], width: float, height: float) -> Figure:
    """Draw how often each of several things was taken, as bars out of how often it was offered.

    Parameters
    ----------
    rows : sequence of (str, float, float)
        Name, times taken, times offered.
    width, height : float
        Size in design pixels, at least 280 by 60; a few bars take less height.
    """
    shapes: list[Shape] = []
    line = min(_SHARE_LINE, (height - 4) / max(1, len(rows)))
    for number, (name, taken, offered) in enumerate(rows):
        y = line * number
        count = f"{taken:g} of {offered:g}"
        room = width - letter_width(count, _SIZE) - 16
        shapes.append(Label((0, y + 15), _shorten(name, room), "ink", _SIZE))
        shapes.append(Label((width, y + 15), count, "muted", _SIZE, anchor="right"))
        end = width * taken / offered if offered else 0.0
        for right, colour in ((width, "rule"), (end, "blue")):
            if right > 0:
                top, bottom = y + 21, y + 21 + _BAR
                shapes.append(Area(((0, top), (right, top), (right, bottom), (0, bottom)), colour))  # type: ignore[arg-type]
    said = "; ".join(f"{name} {taken:g} of {offered:g}" for name, taken, offered in rows)
    return Figure(width, min(height, line * len(rows) + 4), tuple(shapes), said)


def _shorten(name: str, room: float) -> str:
    """Cut a name that would not fit."""
    while letter_width(name, _SIZE) > room and len(name) > 4:
        name = name[:-2].rstrip() + "…"
    return name
