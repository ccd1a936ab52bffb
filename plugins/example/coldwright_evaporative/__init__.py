"""Evaporative pre-cooling of the air of a condenser."""

from coldwright.contract import Plugin

from coldwright_evaporative.precooling import precooling

plugin = Plugin(
    name="evaporative",
    title="Evaporative pre-cooling of condenser air",
    contract=">=1.2,<2",
    calculators=(precooling,),
)
