"""The history in SQLite."""
