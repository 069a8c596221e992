"""Remember which block held which frames, to tell what is heard a latency later."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

ROWS = 512
SPARED_ROWS = 16
"""Oldest rows that a reader leaves out: the writer may be changing them."""

LOOK_BACK_S = 0.5


@dataclass(frozen=True)
class Heard:
    """Say what is heard: the place in the stream, the frame within the loop, the version."""

    written: float
    frame: int
    version: int


class Trace:
    """Keep the last blocks in a ring: one side writes, another reads, and neither waits.

    A system may ask for several blocks in a burst and then for none until a period has passed. What is
    heard moves evenly all the same: it is the furthest that any recent block, taken with its own time,
    says it should be.
    """

    def __init__(self) -> None:
        self._rows: npt.NDArray[np.float64] = np.zeros((ROWS, 7))
        self._written = 0
        self.count = 0

    def note(self, now_s: float, length: int, serial: int, frame: int, moved: int, version: int) -> None:
        """Write a block down.

        Parameters
        ----------
        now_s : float
            When it was asked for.
        length : int
            Its frames.
        serial : int
            The order that it belongs to.
        frame : int
            Frame within the loop at its head.
        moved : int
            Frames of the loop that it holds; the rest is silence.
        version : int
            The version that it holds or fades to.
        """
        row = self._rows[self.count % ROWS]
        row[0], row[1], row[2] = now_s, self._written, length
        row[3], row[4], row[5], row[6] = serial, frame, moved, version
        self._written += length
        self.count += 1

    def read(
        self, now_s: float, latency_s: float, rate_hz: int, serial: int, not_before: float = -math.inf
    ) -> Heard | None:
        """Tell what is heard now.

        Parameters
        ----------
        now_s : float
            The present time.
        latency_s : float >= 0
            Time from asking for a frame to hearing it.
        rate_hz : int
            Frames per second.
        serial : int
            The order asked about.
        not_before : float
            Place in the stream that was told before; time never goes back.

        Returns
        -------
        Heard or None
            None while nothing of this order has been asked for, or none of it has reached the ear.
        """
        rows = self._recent()
        if not len(rows) or rows[-1, 3] != serial:
            return None
        late = rows[rows[:, 0] > now_s - LOOK_BACK_S] if rows[-1, 0] > now_s - LOOK_BACK_S else rows[-1:]
        place = float(np.max(late[:, 1] + (now_s - late[:, 0]) * rate_hz)) - latency_s * rate_hz
        place = min(max(place, not_before), float(rows[-1, 1] + rows[-1, 2]))
        mine = rows[(rows[:, 3] == serial) & (rows[:, 1] <= place)]
        if not len(mine):
            return None
        _, begin, _, _, frame, moved, version = mine[-1]
        return Heard(place, int(frame + min(place - begin, moved)), int(version))

    def _recent(self) -> npt.NDArray[np.float64]:
        """Copy the rows that are certainly whole, oldest first."""
        while True:
            count = self.count
            rows = self._rows.copy()
            if self.count - count < SPARED_ROWS:
                break
        if count <= ROWS - SPARED_ROWS:
            return rows[:count]
        return np.roll(rows, -(count % ROWS), axis=0)[SPARED_ROWS:]
