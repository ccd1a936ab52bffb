"""Machines in a room: their refrigerant against its volume, and their heat against its air."""

from dataclasses import dataclass
from typing import NamedTuple, get_args

from msgspec import UNSET

from coldwright.contract.quantities import Mass, Power, Temperature
from coldwright_booking.fleet.given import MachineType
from coldwright_booking.order.facts import Facts
from coldwright_booking.order.given import Room
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.machines import Combination, Machines
from coldwright_refrigeration.refrigerant_safety import refrigerant_safety
from coldwright_refrigeration.refrigerant_safety.given import (
    CircuitChargeGiven,
    LimitedRefrigerant,
    RefrigerantSafetyGiven,
)
from coldwright_refrigeration.refrigerant_safety.results import RefrigerantSafetyResults
from coldwright_refrigeration.room_heat import room_heat
from coldwright_refrigeration.room_heat.given import RoomHeatGiven
from coldwright_refrigeration.room_heat.results import RoomHeatResults

COOLER_OUTSIDE = 10.0
"""K by which the air that comes in is taken to be cooler than that of the room (common practice)."""
LIMITED: dict[str, LimitedRefrigerant] = {name: name for name in get_args(LimitedRefrigerant)}
Safety = Asked[RefrigerantSafetyGiven, RefrigerantSafetyResults]


@dataclass(frozen=True)
class Indoors:
    """What the room says to the machines."""

    heat: Asked[RoomHeatGiven, RoomHeatResults] | Unanswered
    safety: tuple[tuple[MachineType, Safety | Unanswered], ...]
    """Of each type whose charge is given, where the volume of the room is."""
    incoming: Temperature
    """Hottest air that comes into the room, given or assumed."""
    no_charge: tuple[MachineType, ...]
    no_limit: tuple[MachineType, ...]
    """Types whose refrigerant has no limit in the table."""

    @property
    def asked(self) -> tuple[object, ...]:
        """What was asked of the room, in order."""
        return (*(a for _, a in self.safety), self.heat)


class IndoorsNeeds(NamedTuple):
    """What the room takes of the plan."""

    facts: Facts
    machines: Machines


def decide(needs: IndoorsNeeds, desk: Desk) -> Indoors | None:
    """None outdoors."""
    facts, combination = needs.facts, needs.machines.combination
    if not facts.indoors:
        return None
    room = facts.order.site.room
    room = Room() if room is UNSET else room
    machines = [p.machine for p in combination]
    limited = [m for m in machines if m.refrigerant.designation in LIMITED]
    charged = [m for m in limited if m.refrigerant.charge is not UNSET]
    return Indoors(
        heat=desk.try_ask(room_heat, _heat(facts, room, combination)),
        safety=tuple((m, desk.try_ask(refrigerant_safety, _charge(facts, room, m))) for m in charged)
        if room.volume is not UNSET
        else (),
        incoming=_incoming(facts, room),
        no_charge=tuple(m for m in limited if m.refrigerant.charge is UNSET),
        no_limit=tuple(m for m in machines if m not in limited),
    )


INDOORS = Block("indoors", IndoorsNeeds, (refrigerant_safety, room_heat), decide)


def _incoming(facts: Facts, room: Room) -> Temperature:
    """Air that comes into the room: given, or cooler than the room by `COOLER_OUTSIDE`."""
    if room.outdoor_temperature is not UNSET:
        return room.outdoor_temperature
    return Temperature.from_si(facts.order.site.design_ambient_temperature.si - COOLER_OUTSIDE, "degC")


def _heat(facts: Facts, room: Room, combination: Combination) -> RoomHeatGiven:
    """All machines at full capacity. The room may be as warm as the air that their capacity was worked out for."""
    return RoomHeatGiven(
        heat_rejected=Power.from_si(combination.capacity + combination.power, "kW"),
        ducted_fraction=room.ducted_fraction,
        outdoor_temperature=_incoming(facts, room),
        room_limit=facts.order.site.design_ambient_temperature,
        ventilation_flow=room.ventilation_flow,
        room_volume=room.volume,
        altitude=facts.elevation,
    )


def _charge(facts: Facts, room: Room, machine: MachineType) -> RefrigerantSafetyGiven:
    """One machine: a leak empties one circuit, and no two at once."""
    refrigerant = machine.refrigerant
    circuits = machine.circuits if refrigerant.circuits is UNSET else refrigerant.circuits
    assert refrigerant.charge is not UNSET  # noqa: S101 - the caller has looked
    each = Mass.of(refrigerant.charge.to("kg") / circuits, "kg")
    return RefrigerantSafetyGiven(
        refrigerant=LIMITED[refrigerant.designation],
        circuits=tuple(CircuitChargeGiven(charge=each) for _ in range(circuits)),
        location=room.kind,
        space_volume=room.volume,
        jurisdiction="us" if facts.order.practice == "nec" else "eu",
        use="other",
        leak_detection=room.leak_detection,
        mechanical_ventilation=room.mechanical_ventilation,
    )
