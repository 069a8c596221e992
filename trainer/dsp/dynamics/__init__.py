"""Moves that ride the gain: compressors and the limiter."""
