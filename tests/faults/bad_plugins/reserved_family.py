"""Fault: it claims a family that belongs to the first party."""

from sound import plugin_of

plugin = plugin_of(id="hydronic.hose")
