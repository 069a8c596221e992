"""The long figures: ``python -m tests.long``. Status 1 if one of them misses its demand."""

from __future__ import annotations

import sys

from tests.long import answers, curriculum, faults, thresholds

if __name__ == "__main__":
    sys.exit(0 if all([thresholds.run(), faults.run(), curriculum.run(), answers.run()]) else 1)
