"""Fault: it cannot be imported where a library is not installed."""

import library_that_nobody_has
from sound import plugin_of

plugin = plugin_of(title=library_that_nobody_has.title)
