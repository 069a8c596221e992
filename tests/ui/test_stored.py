"""The main screens against their stored pictures, and that the comparison sees what it is there to see."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pygame
import pytest

from tests.ui.stored import MAIN, MOST_PIXELS, THEMES, Pixels, draw_main, find_path, find_stray, pack_png, read_pixels
from trainer.session.figure import Colour
from trainer.session.palette import SHAPES, Theme
from trainer.ui.lettering import Lettering

LETTERING = Lettering()
AGAIN = "if that is wished, make them anew: python -m tests.ui.look --store"


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("name", MAIN)
def test_a_main_screen_looks_as_it_is_stored(name: str, theme: Theme, tmp_path: Path) -> None:
    """Where it does not, a picture shows it pale, with what strayed in red."""
    drawn = read_pixels(draw_main(name, theme, LETTERING))
    kept = read_pixels(pygame.image.load(find_path(name, theme)))
    assert drawn.shape == kept.shape
    stray = find_stray(drawn, kept)
    if stray.sum() > MOST_PIXELS:
        shown = (drawn // 3 + 128).astype(np.uint8)
        shown[stray] = (213, 0, 0)
        path = tmp_path / f"{name}-{theme}-differs.png"
        path.write_bytes(pack_png(shown))
        pytest.fail(f"{stray.sum()} pixels of {name}, {theme}, stray: see {path}; {AGAIN}")


def move(pixels: Pixels, box: pygame.Rect, by: tuple[int, int], ground: tuple[int, int, int]) -> Pixels:
    """Move a part of a picture over its ground."""
    part = pixels[box.left : box.right, box.top : box.bottom].copy()
    moved = pixels.copy()
    moved[box.left : box.right, box.top : box.bottom] = ground
    left, top = box.left + by[0], box.top + by[1]
    moved[left : left + box.width, top : top + box.height] = part
    return moved


@pytest.fixture(scope="module")
def pictures() -> dict[Theme, Pixels]:
    """Draw a question in both themes."""
    pygame.font.init()
    return {theme: read_pixels(draw_main("question", theme)) for theme in THEMES}


@pytest.mark.parametrize("theme", THEMES)
def test_a_word_moved_by_two_pixels_is_seen(theme: Theme, pictures: dict[Theme, Pixels]) -> None:
    """The smallest type there is, what a key does; by one pixel it passes, as another rasteriser may set it."""
    pixels = pictures[theme][60:200, 730:790]
    words, ground = pygame.Rect(32, 20, 40, 22), SHAPES[theme]["ground"]
    for by in ((1, 0), (-1, 0), (0, 1), (0, -1)):
        assert find_stray(move(pixels, words, (2 * by[0], 2 * by[1]), ground), pixels).sum() > MOST_PIXELS
        assert find_stray(move(pixels, words, by, ground), pixels).sum() <= MOST_PIXELS


@pytest.mark.parametrize("theme", THEMES)
def test_the_faintest_line_moved_by_two_pixels_is_seen(theme: Theme, pictures: dict[Theme, Pixels]) -> None:
    """The rule under the head."""
    pixels = pictures[theme][:, 60:100]
    moved = move(pixels, pygame.Rect(30, 14, 1220, 10), (0, 2), SHAPES[theme]["ground"])
    assert find_stray(moved, pixels).sum() > MOST_PIXELS


@pytest.mark.parametrize(
    ("role", "theme"), [("muted", "paper"), ("rule", "night"), ("ink", "night"), ("sheet", "paper")]
)
def test_another_colour_is_seen(
    role: Colour, theme: Theme, pictures: dict[Theme, Pixels], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Words, the faintest lines, discs and sheets, by 16 levels of 255 in one channel."""
    red, green, blue = SHAPES[theme][role]
    green += 16 if green < 128 else -16
    monkeypatch.setitem(SHAPES, theme, {**SHAPES[theme], role: (red, green, blue)})
    assert find_stray(read_pixels(draw_main("question", theme)), pictures[theme]).sum() > MOST_PIXELS


def test_a_pixel_of_place_passes(pictures: dict[Theme, Pixels]) -> None:
    """What another release of the type's rasteriser may change."""
    pixels = pictures["paper"]
    assert not find_stray(np.roll(pixels, 1, axis=0), pixels).any()


def test_a_packed_picture_is_read_back(tmp_path: Path) -> None:
    """By SDL_image, another reader of PNG: exactly where there are at most 256 colours."""
    pixels = np.random.default_rng(1).integers(0, 255, (16, 9, 3), np.uint8)
    path = tmp_path / "packed.png"
    path.write_bytes(pack_png(pixels))
    assert np.array_equal(read_pixels(pygame.image.load(path)), pixels)
