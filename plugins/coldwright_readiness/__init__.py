"""The readiness family."""

from coldwright.contract import Plugin

plugin = Plugin(name="readiness", title="TITLE", contract=">=1.0,<2", calculators=())
