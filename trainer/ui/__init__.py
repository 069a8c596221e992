"""The window: draws views and emits intents."""

import sys

# pygame looks for its own files through pkg_resources where that happens to be installed, and that alone takes
# longer to read than the rest of pygame. Without it, it finds them by their path.
_unread = "pkg_resources" not in sys.modules
if _unread:
    sys.modules["pkg_resources"] = None  # type: ignore[assignment]
import pygame  # noqa: E402, F401

if _unread:
    del sys.modules["pkg_resources"]
