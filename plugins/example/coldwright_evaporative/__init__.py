"""Evaporative pre-cooling of the air of a condenser."""

from coldwright.contract import Plugin

from coldwright_evaporative.precooling import precooling
from coldwright_evaporative.precooling_2 import measured_precooling
from coldwright_evaporative.stage import stage

plugin = Plugin(
    name="evaporative",
    title="Evaporative pre-cooling of condenser air",
    contract=">=1.3,<2",
    calculators=(precooling, measured_precooling, stage),
    summary="Wet stages before condensers: their air, their water, and the care it asks for.",
)
