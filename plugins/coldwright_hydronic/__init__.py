"""The hydronic family: temporary loops of chilled water or glycol."""

from coldwright.contract import Plugin
from coldwright_hydronic.air_removal import air_removal
from coldwright_hydronic.antifreeze import antifreeze
from coldwright_hydronic.drain_down import drain_down
from coldwright_hydronic.exchanger_flow import exchanger_flow
from coldwright_hydronic.fill import fill
from coldwright_hydronic.heat_balance import heat_balance
from coldwright_hydronic.loop import loop
from coldwright_hydronic.surge import surge

plugin = Plugin(
    name="hydronic",
    title="Temporary chilled-water and glycol loops",
    contract=">=1.2,<2",
    calculators=(
        air_removal,
        antifreeze,
        drain_down,
        exchanger_flow,
        fill,
        heat_balance,
        loop,
        surge,
    ),
    summary="Loop, fill, antifreeze, air, surge, drain-down.",
)
