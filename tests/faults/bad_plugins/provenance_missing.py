"""Fault: a source without a word on how well it is known."""

from sound import plugin_of

from coldwright.contract import Reference

plugin = plugin_of(references=(Reference(id="continuity", title="Equation of continuity", provenance=""),))
