"""Measurements: loudness, peaks, spectrum, dynamics, read from the sound as it is played."""
