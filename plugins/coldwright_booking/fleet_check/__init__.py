"""Whether a fleet document agrees with itself."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Given, Notes, Refused, Results, about, calculator, finding, tidy
from coldwright.contract.quantities import Power, VolumeFlow
from coldwright_booking.fleet.examples import FLEET_EXAMPLES
from coldwright_booking.fleet.given import Fleet, MachineType
from coldwright_booking.fleet.rules import contradictions
from coldwright_booking.references import PRACTICE


class FleetCheckGiven(Given, frozen=True, kw_only=True):
    """A fleet document."""

    fleet: Annotated[Fleet, about("The document, as it is put to `/v1/fleets`.")]


class FleetRowSummary(Results, frozen=True, kw_only=True):
    """One machine type at a glance."""

    type: Annotated[str, about("The type.")]
    count: Annotated[int, about("On hand.")]
    rated_capacity: Annotated[Power, about("Capacity on the plate.", us="ton")]
    efficiency: Annotated[float, about("Capacity over power on the plate.")]
    capacity_source: Annotated[str, about("`table`, or `estimate` from the plate.")]
    flow_minimum: Annotated[VolumeFlow, about("Least flow.")]
    flow_maximum: Annotated[VolumeFlow, about("Greatest flow.")]
    own_pump: Annotated[bool, about("Whether it has a pump aboard.")]
    not_given: Annotated[tuple[str, ...], about("Fields that are not given and that a plan will ask about.")]
    not_told: Annotated[
        tuple[str, ...], about("The same as `not_given`, its former name; it goes with the next major.")
    ]


class FleetAccessoryCount(Results, frozen=True, kw_only=True):
    """Rows and pieces of one kind of accessory."""

    kind: Annotated[str, about("The kind.")]
    rows: Annotated[int, about("Rows of it.")]
    pieces: Annotated[int, about("Pieces on hand.")]


class FleetCheckResults(Results, frozen=True, kw_only=True):
    """The fleet at a glance."""

    machines: Annotated[tuple[FleetRowSummary, ...], about("One entry a type, in the order given.")]
    accessories: Annotated[tuple[FleetAccessoryCount, ...], about("By kind.")]
    rated_capacity: Annotated[Power, about("Capacity of everything on hand, on the plates.", us="ton")] | UnsetType = (
        UNSET
    )


@calculator(
    "booking.fleet_check",
    version="1.4.1",
    title="Whether a fleet document agrees with itself",
    references=(PRACTICE,),
    findings=(
        finding("no_table", "note", "A type without a table: every capacity of it is an estimate."),
        finding("plate_incomplete", "check", "A type of which something is not given that plans must assume."),
        finding("nothing_on_hand", "check", "No machine at all is on hand."),
    ),
    examples=FLEET_EXAMPLES,
)
def fleet_check(given: FleetCheckGiven, notes: Notes) -> FleetCheckResults:
    """Compare a fleet document with itself, row by row, and refuse what contradicts itself.

    Refused: a capacity table that misses the point of the plate by more than 5 %, or is for another frequency or
    difference than the plate; tables of another shape than their axes; crossed limits of flow or temperature; an
    overcurrent device below the circuit's ampacity; a pump without a curve; names that stand twice. Every contradiction
    is named, with its row. `booking.assessment` compares its fleet with the same rules.
    """
    if errors := contradictions(given.fleet):
        raise Refused(errors)
    fleet = given.fleet
    for place, machine in enumerate(fleet.machines):
        _judge(machine, place, notes)
    on_hand = sum(m.rating.capacity.si * m.count for m in fleet.machines)
    if on_hand == 0:
        notes.check("nothing_on_hand", "The counts of all machine types are 0.", field="/fleet/machines")
    return FleetCheckResults(
        machines=tuple(_summary(m) for m in fleet.machines),
        accessories=_accessories(fleet),
        rated_capacity=Power.from_si(on_hand, "kW"),
    )


def _judge(machine: MachineType, place: int, notes: Notes) -> None:
    if machine.capacity_table is UNSET:
        notes.note(
            "no_table",
            f"{machine.type} has no capacity table.",
            why="Away from its plate every capacity is an estimate.",
            resolve="Add the maker's table.",
            field=f"/fleet/machines/{place}/capacity_table",
        )
    if missing := _not_given(machine):
        notes.check(
            "plate_incomplete",
            f"Not given of {machine.type}: {', '.join(missing)}.",
            why="A plan leaves out what it would need them for, and asks.",
            resolve="Read them off the machine.",
            field=f"/fleet/machines/{place}",
        )


def _not_given(machine: MachineType) -> tuple[str, ...]:
    plate, body = machine.electrical, machine.body
    stated = {
        "electrical.short_circuit_rating": plate.short_circuit_rating is not UNSET,
        "electrical.motors": bool(plate.motors),
        "body.centre_of_gravity": body.centre_of_gravity is not UNSET,
        "body.lifting_points": bool(body.lifting_points),
        "body.support": body.support is not UNSET,
        "connection": machine.connection is not UNSET,
        "sound_power_level": machine.sound_power_level is not UNSET,
        "condenser_airflow": machine.condenser_airflow is not UNSET,
        "refrigerant.charge": machine.refrigerant.charge is not UNSET,
    }
    return tuple(name for name, known in stated.items() if not known)


def _summary(machine: MachineType) -> FleetRowSummary:
    rating, missing = machine.rating, _not_given(machine)
    return FleetRowSummary(
        type=machine.type,
        count=machine.count,
        rated_capacity=rating.capacity.as_unit("kW"),
        efficiency=tidy(rating.capacity.si / rating.power.si),
        capacity_source="estimate" if machine.capacity_table is UNSET else "table",
        flow_minimum=machine.evaporator.flow_minimum.as_unit("L/s"),
        flow_maximum=machine.evaporator.flow_maximum.as_unit("L/s"),
        own_pump=machine.pump is not UNSET,
        not_given=missing,
        not_told=missing,
    )


def _accessories(fleet: Fleet) -> tuple[FleetAccessoryCount, ...]:
    counts: dict[str, list[int]] = {}
    for row in fleet.accessories:
        counts.setdefault(str(row.__struct_config__.tag), []).append(row.count)
    return tuple(FleetAccessoryCount(kind=k, rows=len(c), pieces=sum(c)) for k, c in sorted(counts.items()))
