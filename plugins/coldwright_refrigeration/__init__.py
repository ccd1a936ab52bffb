"""The refrigeration family."""

from coldwright.contract import Plugin

plugin = Plugin(name="refrigeration", title="TITLE", contract=">=1.0,<2", calculators=())
