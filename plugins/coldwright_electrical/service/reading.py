"""Currents of each machine, from its plate or its motors; every contradiction is refused at once."""

from typing import Final

from msgspec import UNSET, UnsetType

from coldwright.contract import Allowed, FieldError, Refused, field_error, load_table
from coldwright.contract.quantities import Current
from coldwright_basis.compare import between
from coldwright_basis.ratings import Practice
from coldwright_basis.repeats import repeated
from coldwright_electrical.service.circuits import Duty, Motor
from coldwright_electrical.service.given import AvailableGiven, MachineGiven, MotorGiven, ServiceGiven
from coldwright_electrical.shared.practice import frequency_error

MOTOR_FULL_LOAD_CURRENT = load_table("coldwright_electrical", "motor_full_load_current")


def read(given: ServiceGiven) -> tuple[list[Duty], list[set[int]]]:
    """Currents of each machine and who is interlocked with whom; refuses every contradiction at once."""
    errors: list[FieldError] = []
    voltage = given.system_voltage.to("V")
    if error := frequency_error(given.frequency):
        errors.append(error)
    if given.overcurrent_factor not in (1.75, 2.25):
        errors.append(
            field_error(
                "/overcurrent_factor",
                f"{given.overcurrent_factor:g} is neither 1.75 nor 2.25.",
                code="not_allowed",
                value=given.overcurrent_factor,
                allowed=Allowed(one_of=("1.75", "2.25")),
                why="440.22(A) knows these two factors.",
            )
        )
    duties = []
    for index, machine in enumerate(given.machines):
        pointer = f"/machines/{index}"
        if machine.nameplate_frequency is not UNSET:
            error = frequency_error(machine.nameplate_frequency, f"{pointer}/nameplate_frequency")
            if error:
                errors.append(error)
        duties.append(read_machine(machine, pointer, given.practice, voltage, errors))
    apart = _interlocks(given.machines, errors)
    _check_supply(given.available, errors)
    if errors:
        raise Refused(errors)
    return duties, apart


def _interlocks(machines: tuple[MachineGiven, ...], errors: list[FieldError]) -> list[set[int]]:
    apart: list[set[int]] = [set() for _ in machines]
    errors += repeated((f"/machines/{i}/machine_id", machine.machine_id) for i, machine in enumerate(machines))
    place: dict[str, int] = {}
    for index, machine in enumerate(machines):
        place.setdefault(machine.machine_id, index)
    for index, machine in enumerate(machines):
        for at, other in enumerate(machine.interlocked_with):
            found = place.get(other)
            if found is None or found == index:
                detail = f"{other!r} is not the id of another machine in the list."
                errors.append(field_error(f"/machines/{index}/interlocked_with/{at}", detail, value=other))
            else:
                apart[index].add(found)
                apart[found].add(index)
    return apart


def _check_supply(available: AvailableGiven | UnsetType, errors: list[FieldError]) -> None:
    if available is UNSET or available.supply_current_in_use is UNSET:
        return
    if available.supply_current is UNSET:
        detail = "The current in use is given, the supply that it is taken from is not."
        errors.append(field_error("/available/supply_current", detail, code="missing"))


_full_load_current: Final = {
    (row[0], column): row[1 + index]
    for row in MOTOR_FULL_LOAD_CURRENT.rows
    for index, column in enumerate((208, 230, 460, 575))
}

_horsepowers: Final = tuple(row[0] for row in MOTOR_FULL_LOAD_CURRENT.rows)


def amperes(current: Current | UnsetType) -> float | None:
    """SI value of an optional current."""
    return None if current is UNSET else current.to("A")


def read_machine(
    machine: MachineGiven, pointer: str, practice: Practice, system_voltage: float, errors: list[FieldError]
) -> Duty:
    """Currents of one machine; what contradicts itself is added to `errors`."""
    running = continuous = 0.0
    largest, step = Motor(), None
    compressors = 0
    terms = []
    tabulated = False
    for index, given in enumerate(machine.motors):
        at = f"{pointer}/motors/{index}"
        motor = _read_motor(given, at, practice, system_voltage, errors)
        running += given.quantity * motor.current
        terms.append((given.quantity, motor.current))
        if given.rated_power is not UNSET and given.full_load_current is UNSET:
            tabulated = True
        compressors += motor.compressor
        # on a tie the compressor is the largest, since its rule decides the device
        largest = max(largest, motor)
        if given.locked_rotor_current is not UNSET:
            extra = _start_step(given.locked_rotor_current.to("A"), motor.current, at, errors)
            step = extra if step is None else max(step, extra)
    for load in machine.other_loads:
        current = load.current.to("A")
        running += current
        terms.append((1, current))
        if load.continuous:
            continuous += current
    duty = Duty(
        machine.quantity,
        bool(machine.motors),
        tuple(terms),
        tabulated,
        running,
        continuous,
        largest,
        step,
        amperes(machine.minimum_circuit_ampacity),
        amperes(machine.maximum_overcurrent_device),
        amperes(machine.rated_current),
    )
    if machine.motors and not compressors:
        errors.append(
            field_error(
                f"{pointer}/motors",
                "There is no compressor among the motors: list every motor of the machine, compressors first.",
                why="The rules of this method are those of machines with hermetic compressors.",
            )
        )
    _check_plate(duty, pointer, practice, errors)
    return duty


def _check_plate(duty: Duty, pointer: str, practice: Practice, errors: list[FieldError]) -> None:
    ampacity, device = duty.plate_ampacity, duty.plate_device
    if not duty.known and ampacity is None and (practice == "nec" or duty.plate_current is None):
        wanted = "its minimum circuit ampacity" if practice == "nec" else "its rated current"
        errors.append(
            field_error(
                f"{pointer}/motors",
                f"The current of this machine is not known: give {wanted} or its motors.",
                code="missing",
            )
        )
    if ampacity is not None and device is not None and ampacity > device:
        errors.append(
            field_error(
                f"{pointer}/maximum_overcurrent_device",
                f"The plate's largest device, {device:g} A, is below its minimum circuit ampacity, {ampacity:g} A.",
                value=device,
                allowed=Allowed(minimum=ampacity, unit="A"),
                why="No device could both carry the machine and protect it: one of the two was misread.",
            )
        )


def _read_motor(
    given: MotorGiven, pointer: str, practice: Practice, system_voltage: float, errors: list[FieldError]
) -> Motor:
    rated, selection, full = given.rated_load_current, given.branch_circuit_selection_current, given.full_load_current
    if given.role == "compressor":
        if full is not UNSET or given.rated_power is not UNSET:
            name = "rated_power" if full is UNSET else "full_load_current"
            errors.append(
                field_error(
                    f"{pointer}/{name}",
                    "A hermetic compressor is rated by `rated_load_current` or `branch_circuit_selection_current`.",
                )
            )
        if rated is UNSET and selection is UNSET:
            errors.append(
                field_error(
                    f"{pointer}/rated_load_current",
                    "A compressor needs its rated-load current or its branch-circuit selection current.",
                    code="missing",
                )
            )
        # 440.6(A) Exception 1: the greater of the two counts
        return Motor(max(amperes(rated) or 0.0, amperes(selection) or 0.0), compressor=True)
    for name, value in (("rated_load_current", rated), ("branch_circuit_selection_current", selection)):
        if value is not UNSET:
            text = f"A {given.role} motor is rated by `full_load_current`; this is of compressors."
            errors.append(field_error(f"{pointer}/{name}", text))
    if full is not UNSET:
        return Motor(full.to("A"))
    if given.rated_power is UNSET:
        errors.append(
            field_error(
                f"{pointer}/full_load_current", f"A {given.role} motor needs its full-load current.", code="missing"
            )
        )
        return Motor()
    return Motor(_tabulated_current(given.rated_power.to("hp"), pointer, practice, system_voltage, errors))


def _tabulated_current(
    horsepower: float, pointer: str, practice: Practice, system_voltage: float, errors: list[FieldError]
) -> float:
    column = next(
        (
            c
            for low, high, c in ((200, 208, 208), (220, 240, 230), (440, 480, 460), (550, 600, 575))
            if low <= system_voltage <= high
        ),
        None,
    )
    row = next((h for h in _horsepowers if abs(horsepower - h) <= 0.005 * h), None)
    if practice == "nec" and column and row:
        return float(_full_load_current[row, column])
    errors.append(
        field_error(
            f"{pointer}/full_load_current",
            f"No full-load current is tabulated for {horsepower:.4g} hp at {system_voltage:g} V under `{practice}`: "
            "give the plate's.",
            code="missing",
            why="The table holds for nec practice, its own ratings from 1 to 100 hp and 208 to 575 V.",
        )
    )
    return 0.0


def _start_step(locked: float, running: float, pointer: str, errors: list[FieldError]) -> float:
    low, high = 1.5 * running, 12 * running
    if running > 0 and not between(low, locked, high):
        errors.append(
            field_error(
                f"{pointer}/locked_rotor_current",
                f"{locked:g} A is {locked / running:.3g} times the running current of {running:g} A.",
                value=locked,
                allowed=Allowed(minimum=low, maximum=high, unit="A"),
                why="A locked rotor draws 1.5 to 12 times the running current: one of the two was misread.",
            )
        )
    return locked - running
