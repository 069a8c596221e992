"""Evenhand: ear training and guided, level-matched decisions for mastering one's own mixes."""

import os

# One thread to a matrix product: more gain nothing here, and would take the processor from the sound.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

__version__ = "0.1.0"
