"""One screen for each kind of view."""
