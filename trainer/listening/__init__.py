"""Measure what a listener can hear: links, thresholds, carry-over, simulated listeners, odds."""
