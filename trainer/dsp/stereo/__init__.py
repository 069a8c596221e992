"""Moves on the two sides: level, width, mono, polarity."""
