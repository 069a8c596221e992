"""Speeds, as ratios to a general-purpose library's nearest processor measured in the same run."""
