"""Fault: an example that its own schema refuses."""

from sound import EXAMPLES, Example, plugin_of

WIDE = {"flow": {"value": 1, "unit": "L/s"}, "bore": {"value": 3, "unit": "m"}}
plugin = plugin_of(examples=(*EXAMPLES, Example("wide", "A tunnel.", WIDE)))
