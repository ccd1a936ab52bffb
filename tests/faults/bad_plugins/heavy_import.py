"""Fault: to import it imports numpy, which is not needed until it is asked."""

import numpy as np
from sound import plugin_of

plugin = plugin_of(version=f"1.0.{np.array([0])[0]}")
