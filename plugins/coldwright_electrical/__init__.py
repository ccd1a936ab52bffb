"""The electrical family."""

from coldwright.contract import Plugin

plugin = Plugin(name="electrical", title="TITLE", contract=">=1.0,<2", calculators=())
