"""A child that crashes as a native library does, or hangs, or ends without a word; for the tests of coding."""

from __future__ import annotations

import json
import os
import sys
import time

if __name__ == "__main__":
    # The kb/s that are asked for tell which.
    asked = json.loads(sys.stdin.readline())[1]
    if asked == 64:
        os.abort()
    if asked == 96:
        time.sleep(60)
