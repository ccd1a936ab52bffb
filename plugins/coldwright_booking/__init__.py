"""The booking family."""

from coldwright.contract import Plugin

plugin = Plugin(name="booking", title="TITLE", contract=">=1.0,<2", calculators=())
