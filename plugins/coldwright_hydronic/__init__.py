"""The hydronic family."""

from coldwright.contract import Plugin

plugin = Plugin(name="hydronic", title="TITLE", contract=">=1.0,<2", calculators=())
