"""Evenhand: ear training and guided, level-matched decisions for mastering one's own mixes."""

__version__ = "0.1.0"
