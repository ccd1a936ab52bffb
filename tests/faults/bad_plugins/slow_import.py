"""Fault: to import it takes most of a second."""

import time

from sound import plugin_of

time.sleep(0.7)

plugin = plugin_of()
