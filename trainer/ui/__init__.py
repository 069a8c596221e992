"""The window: draws views and emits intents."""

import os
import sys

# pygame and SDL read these when they are read themselves: no greeting on standard output, sharp text on Windows, and
# a name by which a window manager tells this program from others.
os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
os.environ.setdefault("SDL_WINDOWS_DPI_AWARENESS", "permonitorv2")
os.environ.setdefault("SDL_VIDEO_X11_WMCLASS", "evenhand")

# pygame looks for its own files through pkg_resources where that happens to be installed, and that alone takes
# longer to read than the rest of pygame. Without it, it finds them by their path.
_unread = "pkg_resources" not in sys.modules
if _unread:
    sys.modules["pkg_resources"] = None  # type: ignore[assignment]
import pygame  # noqa: E402, F401

if _unread:
    del sys.modules["pkg_resources"]
