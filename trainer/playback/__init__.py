"""Adapters that play sound: one mixer, two kinds of output, and a silent clock."""
