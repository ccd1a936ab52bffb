"""Imported by the fork server alone: its children start with everything imported.

Only imported, never run: a library that has started threads of its own may wait for them forever in a forked child.
"""

import gc
import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # a forked child has no use for threads of its own

from coldwright.contract.lazy import take_ahead
from coldwright.engine.worker import preload

preload()
take_ahead()
gc.collect()
gc.freeze()  # a child's collector would write on every page that it shares with the others
