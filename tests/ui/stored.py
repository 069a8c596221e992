"""Stored pictures of the main screens, and how near a drawn one has to come to its stored one.

Another rasteriser (another release of FreeType or SDL_ttf) gives the edges of letters other shades and sets a letter
a pixel further; it moves nothing by two pixels and paints no flat colour anew. So each pixel of one picture has to lie
within the range that the other has in the three by three pixels around it, a few levels wider, both ways: one pixel
of place and any shade between ink and ground are free, two pixels and other colours are not. Drawn with SDL_ttf
2.20.1 and 2.24.0 instead of 2.22, at most 32 pixels of a picture strayed; a word of six letters in the smallest type
that stands two pixels further has 68.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pygame

from tests.ui import sample_pages, sample_views
from tests.ui.canvas import draw
from tests.ui.sample_figures import rows_figure
from trainer.session.intents import Do
from trainer.session.pages import Choices, PageView, Picture, View
from trainer.session.palette import Theme
from trainer.session.view import Button, Key
from trainer.ui.lettering import Lettering

Pixels = npt.NDArray[np.uint8]
FOLDER = Path(__file__).parent / "pictures"
SIZE = (1280, 800)
THEMES: tuple[Theme, ...] = ("paper", "night")
LEVELS = 10
MOST_PIXELS = 48
_PALETTE, _FREQUENT = 256, 48


def standings() -> PageView:
    """Give what Progress shows first."""
    looks = ("Now", "Over the days", "Mixed up", "Compared", "Dates")
    keys = Key("1 2 3 4 5", "look in another way", tuple((str(n), Do(name)) for n, name in enumerate(looks, 1)))
    ways = Choices(tuple(Button(name, Do(name), selected=name == "Now") for name in looks))
    frame = sample_pages.place_frame("progress", keys, footer="bundled songs · set-up: headphones")
    parts = (ways, Picture(rows_figure(840)))
    return PageView(frame, "Where your ears stand", "A range widens while its skill is not practised.", (parts,))


MAIN: dict[str, Callable[[], View]] = {
    "today": sample_views.today,
    "question": sample_views.trial,
    "reveal": sample_views.reveal,
    "balance": sample_pages.decide,
    "progress": standings,
}


def draw_main(name: str, theme: Theme, lettering: Lettering | None = None) -> pygame.Surface:
    """Draw one of the main screens."""
    return draw(sample_views.restyle(MAIN[name](), theme), SIZE, lettering).surface


def find_path(name: str, theme: Theme) -> Path:
    """Give the place of a stored picture."""
    return FOLDER / f"{name}-{theme}.png"


def find_stray(drawn: Pixels, stored: Pixels) -> npt.NDArray[np.bool_]:
    """Mark the pixels of either picture that lie outside what the other has around them, shape (width, height)."""
    return _leave(drawn, stored) | _leave(stored, drawn)


def read_pixels(surface: pygame.Surface) -> Pixels:
    """Give a surface's colours, shape (width, height, 3)."""
    return np.asarray(pygame.surfarray.array3d(surface), np.uint8)


def store_all() -> None:
    """Make every stored picture anew."""
    FOLDER.mkdir(exist_ok=True)
    for name in MAIN:
        for theme in THEMES:
            find_path(name, theme).write_bytes(pack_png(read_pixels(draw_main(name, theme))))


def pack_png(pixels: Pixels) -> bytes:
    """Pack colours as a PNG of up to 256 colours: those that cover most, then those that are farthest from them.

    PNG (Portable Network Graphics) specification, second edition, ISO/IEC 15948: colour type 3, filter 0.
    """
    packed = (pixels.astype(np.int32) * (65536, 256, 1)).sum(axis=2).T
    codes, place, count = np.unique(packed.reshape(-1), return_inverse=True, return_counts=True)
    colours = np.stack([codes >> 16, codes >> 8 & 255, codes & 255], axis=1)
    kept, nearest = _choose_palette(colours, count)
    rows = nearest[place].reshape(packed.shape)
    lines = np.concatenate([np.zeros((rows.shape[0], 1), np.uint8), rows], axis=1)
    head = struct.pack(">IIBBBBB", pixels.shape[0], pixels.shape[1], 8, 3, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"PLTE", kept.astype(np.uint8).tobytes()))
    body = ((b"IDAT", zlib.compress(lines.tobytes(), 9)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(_pack_chunk(*chunk) for chunk in (*chunks, *body))


def _choose_palette(colours: npt.NDArray[np.int64], count: npt.NDArray[np.int64]) -> tuple[Any, npt.NDArray[np.uint8]]:
    """Choose up to 256 colours, and give for each colour its nearest one of them."""
    kept = list(np.argsort(-count, kind="stable")[:_FREQUENT])
    away = np.abs(colours[:, None] - colours[kept][None]).max(axis=2)
    nearest, distance = away.argmin(axis=1), away.min(axis=1)
    while len(kept) < _PALETTE and distance.max() > 0:
        farthest = int(distance.argmax())
        new = np.abs(colours - colours[farthest]).max(axis=1)
        nearest[new < distance], distance = len(kept), np.minimum(distance, new)
        kept.append(farthest)
    return colours[kept], nearest.astype(np.uint8)


def _pack_chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def _leave(one: Pixels, other: Pixels) -> npt.NDArray[np.bool_]:
    """Mark the pixels of one picture that the surroundings in the other do not allow."""
    low, high = other, other
    for axis in (0, 1):
        low = np.minimum(low, np.minimum(_step(low, axis, 1), _step(low, axis, -1)))
        high = np.maximum(high, np.maximum(_step(high, axis, 1), _step(high, axis, -1)))
    under = one < np.maximum(low, LEVELS) - LEVELS
    over = one > np.minimum(high, 255 - LEVELS) + LEVELS
    return np.asarray((under | over).any(axis=2))


def _step(pixels: Pixels, axis: int, by: int) -> Pixels:
    """Move a picture by a pixel, its edge staying."""
    moved = np.roll(pixels, by, axis)
    edge = 0 if by > 0 else -1
    if axis == 0:
        moved[edge] = pixels[edge]
    else:
        moved[:, edge] = pixels[:, edge]
    return moved
