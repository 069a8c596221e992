"""Anti-aliased shapes at final pixel size, from the exact distance of each pixel to the shape's edge."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pygame

from trainer.session.palette import Rgb

Coverage = npt.NDArray[np.float32]
"""Shape (width, height): how much of each pixel is inside, 0–1."""
Place = tuple[float, float]


def lay(target: pygame.Surface, coverage: Coverage, at: tuple[int, int], colour: Rgb, opacity: float = 1.0) -> None:
    """Paint a colour through a coverage onto a surface."""
    target.blit(_tint(coverage, colour, opacity), at)


def disc(target: pygame.Surface, at: Place, radius: float, colour: Rgb) -> None:
    """Fill a circle."""
    _blit_disc(target, at, radius, 0.0, colour)


def ring(target: pygame.Surface, at: Place, radius: float, thickness: float, colour: Rgb) -> None:
    """Draw a circle's outline, inside its radius."""
    _blit_disc(target, at, radius, thickness, colour)


def panel(
    target: pygame.Surface,
    box: pygame.Rect,
    radius: int,
    fill: Rgb,
    edge: Rgb | None = None,
    thickness: int = 1,
) -> None:
    """Fill a rectangle with round corners, with an edge of its own colour if one is given."""
    if box.width > 0 and box.height > 0:
        target.blit(_panel(box.size, min(radius, *(side // 2 for side in box.size)), fill, edge, thickness), box)


def outline(target: pygame.Surface, box: pygame.Rect, radius: int, thickness: int, colour: Rgb) -> None:
    """Draw the edge of a rectangle with round corners and leave its inside as it is."""
    coverage = _round_corners(box.size, min(radius, *(side // 2 for side in box.size)))
    inner = (box.width - 2 * thickness, box.height - 2 * thickness)
    if min(inner) > 0:
        hole = _round_corners(inner, min(max(0, radius - thickness), *(side // 2 for side in inner)))
        coverage[thickness:-thickness, thickness:-thickness] -= hole
    lay(target, coverage, box.topleft, colour)


def line(target: pygame.Surface, points: Sequence[Place], width: float, colour: Rgb) -> None:
    """Draw a line through points with round ends; level and upright ones fall on whole pixels."""
    if len(points) == 2 and (points[0][0] == points[1][0] or points[0][1] == points[1][1]):
        _straight(target, points[0], points[1], width, colour)
        return
    left, top = (math.floor(min(p[axis] for p in points) - width) for axis in (0, 1))
    right, bottom = (math.ceil(max(p[axis] for p in points) + width) for axis in (0, 1))
    coverage = np.zeros((right - left + 1, bottom - top + 1), np.float32)
    for start, end in pairwise(points):
        _cover_segment(coverage, (start[0] - left, start[1] - top), (end[0] - left, end[1] - top), width)
    lay(target, coverage, (left, top), colour)


def area(target: pygame.Surface, points: Sequence[Place], colour: Rgb, opacity: float = 1.0) -> None:
    """Fill a closed outline."""
    fine = 4
    left, top = (math.floor(min(p[axis] for p in points)) for axis in (0, 1))
    right, bottom = (math.ceil(max(p[axis] for p in points)) for axis in (0, 1))
    size = (max(1, right - left), max(1, bottom - top))
    large = pygame.Surface((size[0] * fine, size[1] * fine), 0, 32)
    pygame.draw.polygon(large, (255, 255, 255), [((x - left) * fine, (y - top) * fine) for x, y in points])
    small = pygame.transform.smoothscale(large, size)
    coverage: Coverage = (pygame.surfarray.array_red(small) / 255.0).astype(np.float32)
    lay(target, coverage, (left, top), colour, opacity)


def _tint(coverage: Coverage, colour: Rgb, opacity: float = 1.0) -> pygame.Surface:
    """Make a surface of one colour whose opacity is the coverage."""
    surface = pygame.Surface(coverage.shape, pygame.SRCALPHA, 32)
    surface.fill((*colour, 0))
    alpha = pygame.surfarray.pixels_alpha(surface)
    alpha[:] = np.rint(coverage * (255.0 * opacity)).astype(np.uint8)
    del alpha
    return surface


def _blit_disc(target: pygame.Surface, at: Place, radius: float, thickness: float, colour: Rgb) -> None:
    """Blit a kept circle; its centre is kept to a quarter of a pixel."""
    left, top = math.floor(at[0] - radius) - 1, math.floor(at[1] - radius) - 1
    inner = (round((at[0] - left) * 4) / 4, round((at[1] - top) * 4) / 4)
    target.blit(_disc(inner, round(radius * 4) / 4, thickness, colour), (left, top))


@lru_cache(maxsize=256)
def _disc(centre: Place, radius: float, thickness: float, colour: Rgb) -> pygame.Surface:
    """Make a circle, full or an outline."""
    size = math.ceil(max(centre) + radius) + 2
    x, y = np.ogrid[0:size, 0:size]
    distance = np.hypot(x + 0.5 - centre[0], y + 0.5 - centre[1])
    coverage = np.clip(radius - distance + 0.5, 0.0, 1.0)
    if thickness:
        coverage -= np.clip(radius - thickness - distance + 0.5, 0.0, 1.0)
    return _tint(coverage.astype(np.float32), colour)


@lru_cache(maxsize=96)
def _panel(size: tuple[int, int], radius: int, fill: Rgb, edge: Rgb | None, thickness: int) -> pygame.Surface:
    """Make a rectangle with round corners."""
    if edge is None:
        return _tint(_round_corners(size, radius), fill)
    surface = _tint(_round_corners(size, radius), edge)
    inner = (size[0] - 2 * thickness, size[1] - 2 * thickness)
    if min(inner) > 0:
        lay(surface, _round_corners(inner, max(0, radius - thickness)), (thickness, thickness), fill)
    return surface


def _round_corners(size: tuple[int, int], radius: int) -> Coverage:
    """Cover a rectangle but for its corners."""
    coverage = np.ones(size, np.float32)
    if radius > 0:
        along = radius - (np.arange(radius) + 0.5)
        corner = np.clip(radius - np.hypot(along[:, None], along[None, :]) + 0.5, 0.0, 1.0)
        coverage[:radius, :radius] = corner
        coverage[-radius:, :radius] = corner[::-1]
        coverage[:radius, -radius:] = corner[:, ::-1]
        coverage[-radius:, -radius:] = corner[::-1, ::-1]
    return coverage


def _straight(target: pygame.Surface, start: Place, end: Place, width: float, colour: Rgb) -> None:
    """Fill a level or upright line as whole pixels."""
    thick = max(1, round(width))
    left, right = sorted((start[0], end[0]))
    top, bottom = sorted((start[1], end[1]))
    if top == bottom:
        box = pygame.Rect(round(left), round(top - thick / 2), max(1, round(right) - round(left)), thick)
    else:
        box = pygame.Rect(round(left - thick / 2), round(top), thick, max(1, round(bottom) - round(top)))
    target.fill(colour, box)


def _cover_segment(coverage: Coverage, start: Place, end: Place, width: float) -> None:
    """Add one stretch of a line to a coverage, as the larger of both; a curve has hundreds, so each is kept cheap."""
    reach = width / 2 + 1
    (x0, x1), (y0, y1) = (
        (max(0, math.floor(min(a, b) - reach)), math.ceil(max(a, b) + reach)) for a, b in zip(start, end, strict=True)
    )
    view = coverage[x0:x1, y0:y1]
    x: Coverage = np.arange(x0, x0 + view.shape[0], dtype=np.float32)[:, None] + np.float32(0.5 - start[0])
    y: Coverage = np.arange(y0, y0 + view.shape[1], dtype=np.float32) + np.float32(0.5 - start[1])
    dx, dy = end[0] - start[0], end[1] - start[1]
    if dx or dy:
        length = dx * dx + dy * dy
        along: Coverage = np.clip(x * np.float32(dx / length) + y * np.float32(dy / length), 0.0, 1.0)
        x, y = x - along * np.float32(dx), y - along * np.float32(dy)
    covered = (width / 2 + 0.5) - np.sqrt(x * x + y * y)
    np.maximum(view, np.minimum(covered, 1.0), out=view)
