"""A display that nobody sees, for drawing tests."""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest

os.environ["SDL_VIDEODRIVER"] = "dummy"

import pygame


@pytest.fixture(autouse=True)
def display() -> Iterator[None]:
    """Start and end the display around a test."""
    pygame.display.init()
    pygame.font.init()
    yield
    pygame.display.quit()
