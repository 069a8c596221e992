"""Anti-aliased shapes at final pixel size, from the exact distance of each pixel to the shape's edge."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import pygame

from trainer.session.palette import Rgb

Coverage = npt.NDArray[np.float32]
"""Shape (width, height): how much of each pixel is inside, 0–1."""
Place = tuple[float, float]
# A window of more pixels than that is looked at for its own stretch alone.
_MANY_PIXELS = 2500


def lay(target: pygame.Surface, coverage: Coverage, at: tuple[int, int], colour: Rgb, opacity: float = 1.0) -> None:
    """Paint a colour through a coverage onto a surface."""
    target.blit(_tint(coverage, colour, opacity), at)


def disc(target: pygame.Surface, at: Place, radius: float, colour: Rgb) -> None:
    """Fill a circle."""
    _blit_disc(target, at, radius, 0.0, colour)


def ring(target: pygame.Surface, at: Place, radius: float, thickness: float, colour: Rgb) -> None:
    """Draw a circle's outline, inside its radius."""
    _blit_disc(target, at, radius, thickness, colour)


def cross(target: pygame.Surface, at: Place, arm: float, width: float, colour: Rgb) -> None:
    """Draw two slanting lines through a point; ``arm`` is their reach to each side, along either axis."""
    left, top = (math.floor(place - arm - width) for place in at)
    inner = (round((at[0] - left) * 4) / 4, round((at[1] - top) * 4) / 4)
    target.blit(_cross(inner, round(arm * 4) / 4, round(width * 4) / 4, colour), (left, top))


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
    _cover_line(coverage, np.asarray(points, np.float32) - np.array((left, top), np.float32), width)
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


@lru_cache(maxsize=256)
def _cross(centre: Place, arm: float, width: float, colour: Rgb) -> pygame.Surface:
    """Make a cross."""
    coverage = np.zeros((math.ceil(max(centre) + arm + width) + 2,) * 2, np.float32)
    x, y = centre
    for way in (-1, 1):
        _cover_line(coverage, np.array(((x - arm, y - arm * way), (x + arm, y + arm * way)), np.float32), width)
    return _tint(coverage, colour)


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


def _cover_line(coverage: Coverage, points: npt.NDArray[np.float32], width: float) -> None:
    """Cover a line through points, shape (points, 2), with round ends; a curve's hundreds of stretches go in one.

    Each stretch is looked at in a window around it, as large as the largest of them needs.
    """
    start, along = points[:-1, :, None, None], np.diff(points, axis=0)[:, :, None, None]
    ends = np.stack((points[:-1], points[1:]))
    reach = width / 2 + 1
    low = np.floor(ends.min(axis=0) - reach).astype(np.intp)
    wide, high = (np.ceil(ends.max(axis=0) + reach).astype(np.intp) - low).max(axis=0)
    if wide * high > _MANY_PIXELS and len(points) > 2:
        for place in range(len(points) - 1):
            _cover_line(coverage, points[place : place + 2], width)
        return
    column, row = low[:, 0, None, None] + np.arange(wide)[:, None], low[:, 1, None, None] + np.arange(high)
    x, y = (at.astype(np.float32) + np.float32(0.5) - start[:, axis] for axis, at in enumerate((column, row)))
    length = np.maximum((along * along).sum(axis=1), np.float32(1e-12))
    part = np.clip((x * along[:, 0] + y * along[:, 1]) / length, 0.0, 1.0)
    covered = (width / 2 + 0.5) - np.hypot(x - part * along[:, 0], y - part * along[:, 1])
    inside = (covered > 0) & (column >= 0) & (row >= 0)
    inside &= (column < coverage.shape[0]) & (row < coverage.shape[1])
    pixels = np.broadcast_to(column, covered.shape)[inside], np.broadcast_to(row, covered.shape)[inside]
    np.maximum.at(coverage, pixels, np.minimum(covered[inside], 1.0))
