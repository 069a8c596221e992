"""The long figures: ``python -m tests.long``. Status 1 if one of them misses its demand."""

from __future__ import annotations

import sys

from tests.long import alignment, answers, curriculum, faults, thresholds

if __name__ == "__main__":
    sys.exit(0 if all([thresholds.run(), faults.run(), curriculum.run(), answers.run(), alignment.run()]) else 1)
