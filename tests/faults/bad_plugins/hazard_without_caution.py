"""Fault: it speaks of a hazard and gives no caution of it."""

from sound import plugin_of

plugin = plugin_of(hazards=("pressure", "chemical"))
