"""Mastering moves: pure functions on sound, each with a measured effect and a solver."""
