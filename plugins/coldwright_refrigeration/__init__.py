"""Refrigeration: loads, machines and their choice, the refrigerant circuit, pull-down, performance, condenser air."""

from coldwright.contract import Plugin
from coldwright_refrigeration.air_side import air_side
from coldwright_refrigeration.capacity import capacity
from coldwright_refrigeration.circuit_check import circuit_check
from coldwright_refrigeration.condensation import condensation
from coldwright_refrigeration.cycle import cycle
from coldwright_refrigeration.load import load
from coldwright_refrigeration.performance import performance
from coldwright_refrigeration.pull_down import pull_down
from coldwright_refrigeration.refrigerant_safety import refrigerant_safety
from coldwright_refrigeration.ride_through import ride_through
from coldwright_refrigeration.room_heat import room_heat
from coldwright_refrigeration.selection import selection

plugin = Plugin(
    name="refrigeration",
    title="Refrigeration: loads, machines, circuits and condenser air",
    contract=">=1.2,<2",
    calculators=(
        load,
        capacity,
        selection,
        circuit_check,
        cycle,
        pull_down,
        performance,
        refrigerant_safety,
        air_side,
        room_heat,
        ride_through,
        condensation,
    ),
    warms_later=(cycle.id,),
    summary="Load, capacity, selection, circuit readings, cycle, safety of refrigerants, restarts, rooms, condensation.",
)
