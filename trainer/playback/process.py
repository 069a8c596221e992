"""Make the process fit for sound: short turns at the interpreter and no long collections."""

from __future__ import annotations

import gc
import sys

SWITCH_INTERVAL_S = 0.0005


def prepare_process() -> None:
    """Set the process up for playing; called once, when the program starts.

    The sound callback has to get the interpreter back from any other thread within a block, so threads
    take turns every 0.5 ms instead of every 5 ms.
    """
    sys.setswitchinterval(SWITCH_INTERVAL_S)
    settle_memory(whole=True)


def settle_memory(whole: bool) -> None:
    """Collect garbage now, and keep what is left out of later collections.

    A full collection stops every thread, for a tenth of a second when millions of objects are alive.
    Called when versions are loaded, before they are played.

    Parameters
    ----------
    whole : bool
        Whether to look at what was kept out before as well: it takes long, and is rarely worth it.
    """
    if whole:
        gc.unfreeze()
    gc.collect()
    gc.freeze()
