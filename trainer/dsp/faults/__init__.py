"""Faults to plant, each with a measured strength and a known place."""
