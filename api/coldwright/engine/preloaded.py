"""Imported by the fork server alone: its children start with everything loaded."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # a forked child has no use for threads of its own

from coldwright.engine.worker import preload

preload()
