"""The site family."""

from coldwright.contract import Plugin

plugin = Plugin(name="site", title="TITLE", contract=">=1.0,<2", calculators=())
