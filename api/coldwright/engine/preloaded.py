"""Imported by the fork server alone: its children start with everything imported.

Only imported, never run: a library that has started threads of its own may wait for them forever in a forked child.
"""

import contextlib
import importlib
import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # a forked child has no use for threads of its own

from coldwright.engine.worker import preload

SLOW_TO_IMPORT = ("CoolProp.CoolProp", "scipy.optimize", "scipy.sparse", "fluids", "psychrolib", "shapely")

preload()
for _name in SLOW_TO_IMPORT:
    with contextlib.suppress(Exception):  # whoever needs it finds out, and says so
        importlib.import_module(_name)
