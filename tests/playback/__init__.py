"""Tests of the outputs: pure rendering, real drivers in child processes, and outputs that misbehave."""
