"""One machine of an entry: its currents, and the circuit that it needs by itself."""

from typing import TYPE_CHECKING, Final, Literal

from msgspec import UNSET, Struct, UnsetType

from coldwright.contract import Allowed, FieldError, field_error, load_table
from coldwright.contract.quantities import Current
from coldwright_basis.ratings import LEAST_NEC, Practice, rating_at_least, rating_at_most
from coldwright_electrical.safety_switches import frame_at_least

if TYPE_CHECKING:
    from coldwright_electrical.service import MachineGiven, MotorGiven

MOTOR_FULL_LOAD_CURRENT = load_table("coldwright_electrical", "motor_full_load_current")

_full_load_current: Final = {
    (row[0], column): row[1 + index]
    for row in MOTOR_FULL_LOAD_CURRENT.rows
    for index, column in enumerate((208, 230, 460, 575))
}
_horsepowers: Final = tuple(row[0] for row in MOTOR_FULL_LOAD_CURRENT.rows)

LARGEST_MOTOR_ALLOWANCE: Final = 0.25
CONTINUOUS_ALLOWANCE: Final = 0.25
SMALL_MOTOR_DEVICE_MULTIPLE: Final = 2.5
"""430.52: inverse-time breaker of a motor that is not a hermetic compressor."""
DISCONNECT_MULTIPLE: Final = 1.15
HIGH_FACTOR: Final = 2.25

Source = Literal["plate", "calculated"]


class Motor(Struct, frozen=True, order=True, gc=False):
    """Running current of one motor [A]."""

    current: float = 0.0
    compressor: bool = False


class Duty(Struct, frozen=True, gc=False):
    """Currents of ONE machine of an entry [A]; `known` says that its motors were given."""

    quantity: int
    known: bool
    terms: tuple[tuple[int, float], ...]
    """How many of which current: its motors, then its other loads."""
    tabulated: bool
    """Whether a motor's current is not its plate's, but that of the table for its rated power."""
    running: float
    continuous: float
    largest: Motor
    start_step: float | None
    """Greatest (locked rotor - own running current) over the motors that state one."""
    plate_ampacity: float | None
    plate_device: float | None
    plate_current: float | None

    def calculated_ampacity(self) -> float:
        """Every current once, 25 % more of what runs for hours and of the largest motor."""
        return self.running + CONTINUOUS_ALLOWANCE * self.continuous + LARGEST_MOTOR_ALLOWANCE * self.largest.current


class Circuit(Struct, frozen=True, gc=False):
    """What a machine or the group needs [A]; `None` where it cannot be known."""

    ampacity: float
    source: Source
    device: float | None = None
    device_standard: float | None = None
    device_high: float | None = None
    device_high_standard: float | None = None
    smallest_workable: float | None = None
    disconnect: float | None = None
    disconnect_standard: float | None = None
    running: float | None = None
    starting: float | None = None

    def unworkable(self) -> bool:
        """The greatest device allowed is smaller than the smallest that can carry the load."""
        return (
            self.device_standard is not None
            and self.smallest_workable is not None
            and self.device_standard < self.smallest_workable * (1 - 1e-9)
        )


def amperes(current: Current | UnsetType) -> float | None:
    """SI value of an optional current."""
    return None if current is UNSET else current.to("A")


def read_machine(
    machine: "MachineGiven", pointer: str, practice: Practice, system_voltage: float, errors: list[FieldError]
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
                why="the rules of this method are those of machines with hermetic compressors",
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
                f"Nothing tells what this machine draws: give {wanted} or its motors.",
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
                why="no device could both carry the machine and protect it: one of the two was misread",
            )
        )


def _read_motor(
    given: "MotorGiven", pointer: str, practice: Practice, system_voltage: float, errors: list[FieldError]
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
            why="the table holds for nec practice, its own ratings from 1 to 100 hp and 208 to 575 V",
        )
    )
    return 0.0


def _start_step(locked: float, running: float, pointer: str, errors: list[FieldError]) -> float:
    low, high = 1.5 * running, 12 * running
    if running > 0 and not low * (1 - 1e-9) <= locked <= high * (1 + 1e-9):
        errors.append(
            field_error(
                f"{pointer}/locked_rotor_current",
                f"{locked:g} A is {locked / running:.3g} times the running current of {running:g} A.",
                value=locked,
                allowed=Allowed(minimum=low, maximum=high, unit="A"),
                why="a locked rotor draws 1.5 to 12 times the running current: one of the two was misread",
            )
        )
    return locked - running


def round_down(device: float | None) -> float | None:
    """The standard NEC rating not above a limit, never below the smallest made."""
    return None if device is None else rating_at_most("nec", device) or LEAST_NEC


def device_limit(largest: Motor, others: float, factor: float) -> float | None:
    """Largest device [A] of a circuit, before rounding; `others` are all the other currents.

    440.22(B)(1) where a compressor is the largest motor, 440.22(B)(2) with 430.62(A) where another motor is.
    """
    if largest.compressor:
        return factor * largest.current + others
    own = rating_at_least("nec", SMALL_MOTOR_DEVICE_MULTIPLE * largest.current)
    return None if own is None else own + others


def nec_machine(duty: Duty, factor: float) -> Circuit:
    """The circuit of one machine by its plate, and by its motors where they are known."""
    if not duty.known:
        ampacity = duty.plate_ampacity or 0.0
        return Circuit(
            ampacity, "plate", device_standard=duty.plate_device, smallest_workable=rating_at_least("nec", ampacity)
        )
    others = duty.running - duty.largest.current
    device = device_limit(duty.largest, others, factor)
    high = device_limit(duty.largest, others, HIGH_FACTOR)
    ampacity = duty.calculated_ampacity() if duty.plate_ampacity is None else duty.plate_ampacity
    disconnect = DISCONNECT_MULTIPLE * duty.running
    return Circuit(
        ampacity,
        "calculated" if duty.plate_ampacity is None else "plate",
        device,
        round_down(device) if duty.plate_device is None else duty.plate_device,
        high,
        round_down(high),
        rating_at_least("nec", ampacity),
        disconnect,
        frame_at_least(disconnect),
        duty.running,
        None if duty.start_step is None else duty.running + duty.start_step,
    )


def iec_circuit(
    current: float, source: Source, running: float | None, step: float | None, device: float | None
) -> Circuit:
    """IEC: the device is the next rated current above the design current; the disconnector carries at least as much."""
    rating = rating_at_least("iec", current)
    return Circuit(
        current,
        source,
        device_standard=device,
        smallest_workable=rating,
        disconnect=rating,
        disconnect_standard=rating,
        running=running,
        starting=None if step is None or running is None else running + step,
    )


def iec_machine(duty: Duty) -> Circuit:
    """Design current: the plate's rated current, else the motors' sum, else the plate's circuit ampacity."""
    if duty.plate_current is not None:
        return iec_circuit(duty.plate_current, "plate", duty.plate_current, duty.start_step, duty.plate_device)
    if duty.known:
        return iec_circuit(duty.running, "calculated", duty.running, duty.start_step, duty.plate_device)
    return iec_circuit(duty.plate_ampacity or 0.0, "plate", None, None, duty.plate_device)
