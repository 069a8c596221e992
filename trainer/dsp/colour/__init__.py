"""Moves that bend the wave: saturation, clipping, added overtones."""
