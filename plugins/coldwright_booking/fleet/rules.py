"""Contradictions inside a fleet document, row by row."""

from bisect import bisect_right
from collections.abc import Iterator

from msgspec import UNSET

from coldwright.contract import Allowed, FieldError, field_error
from coldwright.contract.quantities import Temperature
from coldwright_basis.compare import above, between
from coldwright_basis.repeats import repeated
from coldwright_booking.fleet.given import Fleet, MachineType
from coldwright_booking.fleet.money import money_errors
from coldwright_booking.fleet.plate import plate_difference
from coldwright_refrigeration.capacity.given import RatingAxis, RatingGrid, RatingTable

SAME_DIFFERENCE = 1.0
"""K by which the differences of table and plate may differ: 5 K of one rule and 10 degF of another are as good as one."""
TABLE_TOLERANCE = 0.05
"""How far the table may lie from the point on the plate."""


def contradictions(fleet: Fleet, pointer: str = "/fleet") -> list[FieldError]:
    """Every contradiction, with the row that holds it."""
    errors = [*_repeated(fleet, pointer), *money_errors(fleet, pointer)]
    for place, machine in enumerate(fleet.machines):
        errors += _machine(machine, f"{pointer}/machines/{place}")
    return errors


def _repeated(fleet: Fleet, pointer: str) -> list[FieldError]:
    why = "A plan names its machines and items, so each name can stand for one row only."
    machines = ((f"{pointer}/machines/{place}/type", m.type) for place, m in enumerate(fleet.machines))
    accessories = ((f"{pointer}/accessories/{place}/item", a.item) for place, a in enumerate(fleet.accessories))
    return [*repeated(machines, why), *repeated(accessories, why)]


def _machine(machine: MachineType, at: str) -> Iterator[FieldError]:
    yield from _rating(machine, at)
    yield from _table(machine, at)
    yield from _envelope(machine, at)
    yield from _flows(machine, at)
    yield from _plate(machine, at)
    yield from _rest(machine, at)


def _crossed(at: str, low: str, high: str, detail: str, value: object) -> FieldError:
    return field_error(f"{at}/{high}", f"{detail}: `{high}` is below `{low}`.", value=value)


def _rating(machine: MachineType, at: str) -> Iterator[FieldError]:
    rating = machine.rating
    kelvin = rating.entering_temperature.si - rating.leaving_temperature.si
    if not between(2, kelvin, 20):
        yield field_error(
            f"{at}/rating/entering_temperature",
            f"The plate names {kelvin:.3g} K between entering and leaving.",
            value=rating.entering_temperature,
            allowed=Allowed(
                minimum=rating.leaving_temperature.to("degC") + 2,
                maximum=rating.leaving_temperature.to("degC") + 20,
                unit="degC",
            ),
            why="Machines are rated at 2 to 20 K.",
        )


def _table(machine: MachineType, at: str) -> Iterator[FieldError]:
    """The table, read at the point of the plate, must give the plate's capacity and power."""
    table, rating = machine.capacity_table, machine.rating
    if table is UNSET:
        return
    shape = list(_shape(table, f"{at}/capacity_table"))
    if shape:
        yield from shape
        return
    yield from _basis(machine, table, f"{at}/capacity_table/basis")
    for name, grid, plate in (("capacity", table.capacity, rating.capacity), ("power", table.power, rating.power)):
        read = _read(table, grid, rating.leaving_temperature, rating.ambient_temperature)
        if read is None:
            continue
        stated = plate.to(grid.unit)
        if abs(read / stated - 1) > TABLE_TOLERANCE:
            yield field_error(
                f"{at}/capacity_table/{name}",
                f"The table of {machine.type} gives {read:.4g} {grid.unit} at the point of its plate, where the plate "
                f"says {stated:.4g} {grid.unit}.",
                value=read,
                allowed=Allowed(
                    minimum=stated * (1 - TABLE_TOLERANCE), maximum=stated * (1 + TABLE_TOLERANCE), unit=grid.unit
                ),
                why="One of the two is wrong, or they belong to different machines.",
            )


def _basis(machine: MachineType, table: RatingTable, at: str) -> Iterator[FieldError]:
    """What the table says that it stands for must be what the plate says."""
    stated, plate = table.basis.frequency, machine.electrical.frequency
    if stated is not UNSET and stated.si != plate.si:
        yield field_error(
            f"{at}/frequency",
            f"The table of {machine.type} is for {stated}, its plate for {plate}.",
            value=stated,
            allowed=Allowed(minimum=plate.to("Hz"), maximum=plate.to("Hz"), unit="Hz"),
            why="A table for another frequency would be corrected to the plate's by a sixth; leave it out where they agree.",
        )
    difference, rated = table.basis.temperature_difference, plate_difference(machine)
    if difference is not UNSET and above(abs(difference.si - rated.si), SAME_DIFFERENCE):
        yield field_error(
            f"{at}/temperature_difference",
            f"The table of {machine.type} is for {difference} between entering and leaving, its plate for {rated}.",
            value=difference,
            allowed=Allowed(
                minimum=rated.to("delta_degC") - SAME_DIFFERENCE,
                maximum=rated.to("delta_degC") + SAME_DIFFERENCE,
                unit="delta_degC",
            ),
            why="The two are compared at the point of the plate, which must be one point.",
        )


def _shape(table: RatingTable, at: str) -> Iterator[FieldError]:
    for name, axis in (
        ("leaving_liquid_temperature", table.leaving_liquid_temperature),
        ("ambient_temperature", table.ambient_temperature),
    ):
        if any(b <= a for a, b in zip(axis.values, axis.values[1:], strict=False)):
            yield field_error(f"{at}/{name}/values", "The temperatures of an axis rise.", value=list(axis.values))
    rows, columns = len(table.leaving_liquid_temperature.values), len(table.ambient_temperature.values)
    for name, grid in (("capacity", table.capacity), ("power", table.power)):
        if len(grid.values) != rows or any(len(row) != columns for row in grid.values):
            yield field_error(
                f"{at}/{name}/values",
                f"The table has {rows} leaving and {columns} ambient temperatures, this grid another shape.",
                why="One row for each leaving temperature, one number for each ambient temperature.",
            )


def _read(table: RatingTable, grid: RatingGrid, leaving: Temperature, ambient: Temperature) -> float | None:
    """Linear in the cell; None where the plate's point lies outside the table."""
    row = _place(table.leaving_liquid_temperature, leaving)
    column = _place(table.ambient_temperature, ambient)
    if row is None or column is None:
        return None
    (i, u), (j, v) = row, column
    low = grid.values[i][j] * (1 - v) + grid.values[i][j + 1] * v
    high = grid.values[i + 1][j] * (1 - v) + grid.values[i + 1][j + 1] * v
    return low * (1 - u) + high * u


def _place(axis: RatingAxis, temperature: Temperature) -> tuple[int, float] | None:
    number, values = temperature.to(axis.unit), axis.values
    if not between(values[0], number, values[-1]):
        return None
    i = min(max(bisect_right(values, number) - 1, 0), len(values) - 2)
    return i, (number - values[i]) / (values[i + 1] - values[i])


def _envelope(machine: MachineType, at: str) -> Iterator[FieldError]:
    limits = machine.envelope
    pairs = (
        ("ambient_minimum", limits.ambient_minimum, "ambient_maximum", limits.ambient_maximum),
        ("leaving_minimum", limits.leaving_minimum, "leaving_maximum", limits.leaving_maximum),
        ("leaving_minimum_with_antifreeze", limits.leaving_minimum_with_antifreeze, "leaving_minimum", limits.leaving_minimum),
        ("leaving_minimum", limits.leaving_minimum, "entering_maximum", limits.entering_maximum),
    )  # fmt: skip
    for low_name, low, high_name, high in pairs:
        if low is not UNSET and high is not UNSET and above(low.si, high.si):
            yield _crossed(f"{at}/envelope", low_name, high_name, "The envelope is empty", high)


def _flows(machine: MachineType, at: str) -> Iterator[FieldError]:
    evaporator = machine.evaporator
    low, high, rated = evaporator.flow_minimum, evaporator.flow_maximum, evaporator.rated_flow
    if low.si >= high.si:
        yield field_error(
            f"{at}/evaporator/flow_minimum",
            f"The least flow of {machine.type}, {low}, is not below its greatest, {high}.",
            value=low,
            allowed=Allowed(below=high.to("L/s"), unit="L/s"),
        )
    elif not low.si <= rated.si <= high.si:
        yield field_error(
            f"{at}/evaporator/rated_flow",
            f"The rated flow of {machine.type} lies outside its own limits.",
            value=rated,
            allowed=Allowed(minimum=low.to("L/s"), maximum=high.to("L/s"), unit="L/s"),
        )


def _plate(machine: MachineType, at: str) -> Iterator[FieldError]:
    plate = machine.electrical
    where = f"{at}/electrical"
    if plate.frequency.value not in (50, 60):
        yield field_error(
            f"{where}/frequency", "50 or 60 Hz.", value=plate.frequency, allowed=Allowed(one_of=("50", "60"), unit="Hz")
        )
    ampacity, device = plate.minimum_circuit_ampacity, plate.maximum_overcurrent_device
    if ampacity is not UNSET and device is not UNSET and device.si < ampacity.si:
        yield field_error(
            f"{where}/maximum_overcurrent_device",
            f"The plate of {machine.type} allows a device of {device} on a circuit of {ampacity}.",
            value=device,
            allowed=Allowed(minimum=ampacity.to("A"), unit="A"),
            why="A device below the circuit's ampacity trips in normal running.",
        )
    if ampacity is UNSET and not plate.motors and plate.rated_current is UNSET:
        yield field_error(
            f"{where}/minimum_circuit_ampacity", "Give the plate's ampacity, or the motors.", code="missing"
        )
    if plate.motors and all(m.role != "compressor" for m in plate.motors):
        yield field_error(f"{where}/motors", f"None of the motors of {machine.type} is a compressor.")


def _rest(machine: MachineType, at: str) -> Iterator[FieldError]:
    body, pump = machine.body, machine.pump
    if body.mass_dry is not UNSET and body.mass_dry.si > body.mass_operating.si:
        yield _crossed(
            f"{at}/body", "mass_dry", "mass_operating", "A machine is not lighter when full", body.mass_operating
        )
    support = body.support
    if support is not UNSET and support.kind != "skid" and len(support.feet) < 3:
        yield field_error(
            f"{at}/body/support/feet",
            f"{machine.type} stands on {support.kind}: give three or more, each with its place and area.",
            code="missing" if not support.feet else "refused",
        )
    runner = UNSET if support is UNSET or support.kind != "skid" else support.runner_width
    if runner is not UNSET and above(2 * runner.si, body.width.si):
        yield field_error(
            f"{at}/body/support/runner_width",
            f"Two runners of {runner} are wider than {machine.type}, {body.width}.",
            value=runner,
            allowed=Allowed(maximum=body.width.to("mm") / 2, unit="mm"),
            why="What presses on the ground lies below the machine: its pressure would come out too low.",
        )
    names = [p.id for p in body.lifting_points]
    if len(set(names)) != len(names):
        yield field_error(f"{at}/body/lifting_points", "Two lifting points have one id.", value=names)
    if pump is not UNSET and len(pump.curve) < 3:
        yield field_error(
            f"{at}/pump/curve",
            f"The pump of {machine.type} needs its curve: three points at least, one of them without flow.",
            code="missing" if not pump.curve else "refused",
        )
    compressors = sum(m.quantity for m in machine.electrical.motors if m.role == "compressor")
    if compressors and machine.circuits > compressors:
        yield field_error(
            f"{at}/circuits",
            f"{machine.circuits} circuits of {machine.type} cannot share {compressors} compressors.",
            value=machine.circuits,
            allowed=Allowed(minimum=1, maximum=compressors),
        )
