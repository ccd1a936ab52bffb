"""What circuit the machines need, and whether the breaker and supply offered will do."""

from typing import Annotated, Final, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import (
    Allowed,
    Example,
    FieldError,
    Given,
    Notes,
    Refused,
    Results,
    Text,
    about,
    calculator,
    field_error,
)
from coldwright.contract.quantities import ApparentPower, Current, Frequency, Power, Voltage
from coldwright_basis.ratings import IEC_RATED_CURRENTS, OVERCURRENT_RATINGS
from coldwright_electrical import references as ref
from coldwright_electrical.practice import PracticeField, SystemFrequency, SystemVoltage, frequency_error
from coldwright_electrical.safety_switches import SAFETY_SWITCH_FRAMES
from coldwright_electrical.service_findings import FINDINGS, FitGiven, judge_fit, judge_service
from coldwright_electrical.service_group import feeder_circuit
from coldwright_electrical.service_machine import (
    MOTOR_FULL_LOAD_CURRENT,
    Circuit,
    Duty,
    iec_machine,
    nec_machine,
    read_machine,
)
from coldwright_electrical.service_working import show_working

_ROOT_3: Final = 3**0.5


class MotorGiven(Given, frozen=True, kw_only=True):
    """Motors of one kind in a machine, as the plate states them. Currents are those of one motor."""

    role: Annotated[
        Literal["compressor", "fan", "pump"],
        about("What it drives. `compressor`: a hermetic motor, rated by the first two currents below."),
    ]
    quantity: Annotated[int, about("How many of them the machine has.", low=1, high=40)] = 1
    rated_load_current: (
        Annotated[Current, about("Rated-load current of a compressor.", above=0, high=2500, unit="A")] | UnsetType
    ) = UNSET
    branch_circuit_selection_current: (
        Annotated[
            Current,
            about(
                "Branch-circuit selection current of a compressor; the greater of the two counts.",
                above=0,
                high=2500,
                unit="A",
            ),
        ]
        | UnsetType
    ) = UNSET
    full_load_current: (
        Annotated[Current, about("Full-load current of a fan or pump.", above=0, high=2500, unit="A")] | UnsetType
    ) = UNSET
    rated_power: (
        Annotated[
            Power,
            about(
                "Rated power of a fan or pump, used only where `full_load_current` is absent: the current is then taken "
                "from the table for nec practice.",
                above=0,
                high=200,
                unit="hp",
            ),
        ]
        | UnsetType
    ) = UNSET
    locked_rotor_current: (
        Annotated[
            Current,
            about("Locked-rotor current: 1.5 to 12 times the running current.", above=0, high=30000, unit="A"),
        ]
        | UnsetType
    ) = UNSET


class OtherLoadGiven(Given, frozen=True, kw_only=True):
    """A load without a motor: crankcase or freeze heaters, control transformer."""

    name: Annotated[Text, about("What it is.")]
    current: Annotated[Current, about("Its current.", above=0, high=2500, unit="A")]
    continuous: Annotated[
        bool, about("Whether it runs for three hours or more: then it counts 25 % more.", basis="standard")
    ] = True


class MachineGiven(Given, frozen=True, kw_only=True):
    """Machines of one kind: by the data plate, by their motors, or both."""

    machine_id: Annotated[Text, about("Your name for it, unique in the list.")]
    quantity: Annotated[int, about("How many of them hang on the feeder.", low=1, high=40)] = 1
    nameplate_voltage: (
        Annotated[Voltage, about("Voltage on the data plate.", low=100, high=1000, unit="V")] | UnsetType
    ) = UNSET
    nameplate_frequency: (
        Annotated[Frequency, about("Frequency on the data plate, 50 or 60 Hz.", low=50, high=60, unit="Hz")] | UnsetType
    ) = UNSET
    minimum_circuit_ampacity: (
        Annotated[Current, about("Minimum circuit ampacity on the data plate.", above=0, high=4000, unit="A")]
        | UnsetType
    ) = UNSET
    maximum_overcurrent_device: (
        Annotated[
            Current,
            about(
                "Largest overcurrent device on the data plate; not below the minimum circuit ampacity.",
                above=0,
                high=6000,
                unit="A",
            ),
        ]
        | UnsetType
    ) = UNSET
    maximum_overcurrent_device_kind: Annotated[
        Literal["fuse_or_breaker", "fuse"],
        about("Which kinds of device the data plate allows; `fuse` where it names fuses only."),
    ] = "fuse_or_breaker"
    rated_current: (
        Annotated[Current, about("Rated current of the whole machine on an IEC plate.", above=0, high=4000, unit="A")]
        | UnsetType
    ) = UNSET
    motors: Annotated[
        tuple[MotorGiven, ...],
        about(
            "Its motors, at least one of them a compressor; may be left out where the plate is given.", max_length=40
        ),
    ] = ()
    other_loads: Annotated[
        tuple[OtherLoadGiven, ...], about("Loads without a motor, counted with the motors.", max_length=40)
    ] = ()
    interlocked_with: Annotated[
        tuple[Text, ...],
        about("Ids of machines that are kept from running at the same time as this one.", max_length=40),
    ] = ()


class AvailableGiven(Given, frozen=True, kw_only=True):
    """What the site offers."""

    breaker_rating: (
        Annotated[Current, about("Rating of the breaker offered.", above=0, high=6000, unit="A")] | UnsetType
    ) = UNSET
    breaker_full_rated: Annotated[
        bool,
        about("Whether the breaker is marked for 100 % of its rating; most are for 80 %.", basis="common_practice"),
    ] = False
    supply_current: (
        Annotated[Current, about("Current that the supply can give.", above=0, high=10000, unit="A")] | UnsetType
    ) = UNSET
    supply_current_in_use: (
        Annotated[Current, about("Current of it already in use.", low=0, high=10000, unit="A")] | UnsetType
    ) = UNSET


class ServiceGiven(Given, frozen=True, kw_only=True):
    """Machines on one feeder, and what the site offers."""

    practice: PracticeField
    system_voltage: SystemVoltage
    frequency: SystemFrequency
    machines: Annotated[tuple[MachineGiven, ...], about("Machines on the feeder.", min_length=1, max_length=40)]
    overcurrent_factor: Annotated[
        float,
        about(
            "1.75 or 2.25 times the largest compressor, for the greatest device. 2.25 only where the motor will not "
            "start on 1.75.",
            low=1.75,
            high=2.25,
            basis="standard",
            references=(ref.NEC_440_22.id,),
        ),
    ] = 1.75
    available: Annotated[AvailableGiven, about("What the site offers, where it is known.")] | UnsetType = UNSET
    supply_grounding: (
        Annotated[
            Literal["solid_wye", "high_leg_delta", "corner_grounded_delta", "ungrounded", "impedance_grounded"],
            about("How the supply is grounded, where it is known."),
        ]
        | UnsetType
    ) = UNSET
    power_factor: Annotated[
        float, about("Power factor of the running machines.", low=0.5, high=1, basis="common_practice")
    ] = 0.85


class CircuitResults(Results, frozen=True, kw_only=True):
    """What a circuit needs. A value is left out where the data do not tell it."""

    minimum_circuit_ampacity: Annotated[Current, about("Least ampacity of the circuit; the design current under iec.")]
    minimum_circuit_ampacity_source: Annotated[
        Literal["plate", "calculated"], about("Whether it is, or rests on, a data plate.")
    ]
    maximum_overcurrent_calculated: (
        Annotated[Current, about("Greatest device at the `overcurrent_factor` of the input, before rounding.")]
        | UnsetType
    ) = UNSET
    maximum_overcurrent_standard: (
        Annotated[
            Current, about("Greatest device: the plate's, else the standard rating not above the calculated one.")
        ]
        | UnsetType
    ) = UNSET
    maximum_overcurrent_calculated_at_2_25: (
        Annotated[Current, about("Greatest device if the factor were 2.25, before rounding.")] | UnsetType
    ) = UNSET
    maximum_overcurrent_standard_at_2_25: Annotated[Current, about("The standard rating not above it.")] | UnsetType = (
        UNSET
    )
    smallest_workable_standard: (
        Annotated[Current, about("Smallest standard rating that carries the circuit's ampacity.")] | UnsetType
    ) = UNSET
    disconnect_minimum_current: Annotated[Current, about("Least current rating of the disconnect.")] | UnsetType = UNSET
    disconnect_standard: Annotated[Current, about("Smallest standard disconnect.")] | UnsetType = UNSET
    running_current: Annotated[Current, about("Current with everything running.")] | UnsetType = UNSET
    locked_rotor_with_largest_starting: (
        Annotated[Current, about("Current while one motor starts and the rest run, worst motor.")] | UnsetType
    ) = UNSET


class MachineResults(CircuitResults, frozen=True, kw_only=True):
    """What ONE machine of an entry needs by itself."""

    machine_id: Annotated[Text, about("Your name for it.")]
    quantity: Annotated[int, about("How many of them.")]


class FitResults(Results, frozen=True, kw_only=True):
    """Whether what the site offers will do."""

    verdict: Annotated[
        Literal["fits", "does_not_fit", "unknown"],
        about("`unknown` when neither breaker nor supply is given, or the greatest device is not known."),
    ]
    reasons: Annotated[tuple[str, ...], about("Each test that failed, or what is not known.")]
    spare_supply: Annotated[Current, about("Supply left after this feeder; negative when it is short.")] | UnsetType = (
        UNSET
    )


class ServiceResults(Results, frozen=True, kw_only=True):
    """What the machines need, one by one and together."""

    machines: Annotated[tuple[MachineResults, ...], about("One entry for each entry given, in the same order.")]
    feeder: Annotated[CircuitResults, about("What the feeder of all of them needs.")]
    apparent_power: Annotated[ApparentPower, about("Apparent power of the group while running.")] | UnsetType = UNSET
    active_power: Annotated[Power, about("Active power of the group while running.")] | UnsetType = UNSET
    fit: Annotated[FitResults, about("Whether what the site offers will do.")]


EXAMPLES: Final = (
    Example(
        "two_machines",
        "Two invented machines on a 480 V supply whose breaker is too big for the usual factor.",
        {
            "practice": "nec",
            "system_voltage": {"value": 480, "unit": "V"},
            "frequency": {"value": 60, "unit": "Hz"},
            "machines": [
                {
                    "machine_id": "west-pair",
                    "quantity": 2,
                    "nameplate_voltage": {"value": 460, "unit": "V"},
                    "nameplate_frequency": {"value": 60, "unit": "Hz"},
                    "motors": [
                        {
                            "role": "compressor",
                            "quantity": 2,
                            "rated_load_current": {"value": 58, "unit": "A"},
                            "locked_rotor_current": {"value": 350, "unit": "A"},
                        },
                        {"role": "fan", "quantity": 4, "full_load_current": {"value": 3.4, "unit": "A"}},
                        {"role": "pump", "full_load_current": {"value": 14, "unit": "A"}},
                    ],
                }
            ],
            "available": {
                "breaker_rating": {"value": 350, "unit": "A"},
                "supply_current": {"value": 600, "unit": "A"},
                "supply_current_in_use": {"value": 120, "unit": "A"},
            },
        },
    ),
    Example(
        "plate_only",
        "One invented machine known by its data plate only, and a breaker of the plate's size.",
        {
            "practice": "nec",
            "system_voltage": {"value": 208, "unit": "V"},
            "frequency": {"value": 60, "unit": "Hz"},
            "machines": [
                {
                    "machine_id": "yard-1",
                    "nameplate_voltage": {"value": 208, "unit": "V"},
                    "minimum_circuit_ampacity": {"value": 61.5, "unit": "A"},
                    "maximum_overcurrent_device": {"value": 90, "unit": "A"},
                }
            ],
            "available": {"breaker_rating": {"value": 80, "unit": "A"}},
        },
    ),
    Example(
        "iec_duty_and_standby",
        "Two invented machines on 400 V of which only one may run at a time.",
        {
            "practice": "iec",
            "system_voltage": {"value": 400, "unit": "V"},
            "frequency": {"value": 50, "unit": "Hz"},
            "machines": [
                {
                    "machine_id": "duty",
                    "rated_current": {"value": 182, "unit": "A"},
                    "maximum_overcurrent_device": {"value": 250, "unit": "A"},
                    "interlocked_with": ["standby"],
                },
                {
                    "machine_id": "standby",
                    "rated_current": {"value": 168, "unit": "A"},
                    "maximum_overcurrent_device": {"value": 250, "unit": "A"},
                },
            ],
            "available": {"breaker_rating": {"value": 200, "unit": "A"}, "supply_current": {"value": 250, "unit": "A"}},
        },
    ),
)


@calculator(
    "electrical.service",
    version="1.0.0",
    title="Circuit that the machines need, and whether the supply offered will do",
    references=(
        ref.NEC_440_6,
        ref.NEC_440_33,
        ref.NEC_430_24,
        ref.NEC_440_22,
        ref.NEC_430_62,
        ref.NEC_440_12,
        ref.NEC_440_4,
        ref.NEC_GROUND_FAULT,
        ref.NEC_240_85,
        ref.UL_489,
        ref.NEMA_MG_1,
        ref.IEC_60364_4_43,
        ref.IEC_60204_1,
        *ref.SAFE_WORK,
    ),
    tables=(OVERCURRENT_RATINGS, SAFETY_SWITCH_FRAMES, IEC_RATED_CURRENTS, MOTOR_FULL_LOAD_CURRENT),
    hazards=("electrical",),
    findings=FINDINGS,
    examples=EXAMPLES,
)
def service(given: ServiceGiven, notes: Notes) -> ServiceResults:
    """The circuit for each machine and for the feeder of all, and whether breaker and supply offered fit it.

    nec: ampacity = sum of motors + 25 % of the largest + 125 % of continuous and 100 % of other loads (NEC 440.33,
    430.24); greatest device = 1.75 or 2.25 times the largest compressor + the rest (440.22), rounded down to a standard
    rating; disconnect 115 % of the sum (440.12). A data plate prevails. iec: design current = sum of rated currents, the
    device the next rated current above it (IEC 60364-4-43), the greatest only from the plate. Holds for three-phase
    low-voltage machines with hermetic compressors. Largest loads that may not run together are found from interlocks.
    """
    duties, apart = _read(given)
    if given.practice == "nec":
        circuits = [nec_machine(duty, given.overcurrent_factor) for duty in duties]
    else:
        circuits = [iec_machine(duty) for duty in duties]
    feeder = feeder_circuit(given.practice, duties, circuits, apart, given.overcurrent_factor)
    judge_service(given, duties, circuits, feeder, notes)
    offered = given.available
    fit = judge_fit(given, feeder, FitGiven() if offered is UNSET else _offered(offered), notes)
    show_working(given, duties, circuits, feeder, notes)
    machines = [_machine_results(machine, circuit) for machine, circuit in zip(given.machines, circuits, strict=True)]
    spare = _amperes(fit.spare)
    fit_results = FitResults(verdict=fit.verdict, reasons=fit.reasons, spare_supply=spare)
    group = _results(feeder)
    if feeder.running is None:
        return ServiceResults(machines=tuple(machines), feeder=group, fit=fit_results)
    apparent = _ROOT_3 * given.system_voltage.to("V") * feeder.running / 1000
    return ServiceResults(
        machines=tuple(machines),
        feeder=group,
        apparent_power=ApparentPower.of(apparent, "kVA"),
        active_power=Power.of(apparent * given.power_factor, "kW"),
        fit=fit_results,
    )


def _offered(available: AvailableGiven) -> FitGiven:
    supply, in_use = available.supply_current, available.supply_current_in_use
    return FitGiven(
        None if available.breaker_rating is UNSET else available.breaker_rating.to("A"),
        available.breaker_full_rated,
        None if supply is UNSET else supply.to("A") - (0.0 if in_use is UNSET else in_use.to("A")),
    )


_current: Final = Current.of


def _amperes(current: float | None) -> Current | UnsetType:
    return UNSET if current is None else _current(current, "A")


def _results(circuit: Circuit) -> CircuitResults:
    """Written out here and below, since unpacking a dictionary takes as long as making what is in it."""
    return CircuitResults(
        minimum_circuit_ampacity=_current(circuit.ampacity, "A"),
        minimum_circuit_ampacity_source=circuit.source,
        maximum_overcurrent_calculated=_amperes(circuit.device),
        maximum_overcurrent_standard=_amperes(circuit.device_standard),
        maximum_overcurrent_calculated_at_2_25=_amperes(circuit.device_high),
        maximum_overcurrent_standard_at_2_25=_amperes(circuit.device_high_standard),
        smallest_workable_standard=_amperes(circuit.smallest_workable),
        disconnect_minimum_current=_amperes(circuit.disconnect),
        disconnect_standard=_amperes(circuit.disconnect_standard),
        running_current=_amperes(circuit.running),
        locked_rotor_with_largest_starting=_amperes(circuit.starting),
    )


def _machine_results(machine: MachineGiven, circuit: Circuit) -> MachineResults:
    return MachineResults(
        machine_id=machine.machine_id,
        quantity=machine.quantity,
        minimum_circuit_ampacity=_current(circuit.ampacity, "A"),
        minimum_circuit_ampacity_source=circuit.source,
        maximum_overcurrent_calculated=_amperes(circuit.device),
        maximum_overcurrent_standard=_amperes(circuit.device_standard),
        maximum_overcurrent_calculated_at_2_25=_amperes(circuit.device_high),
        maximum_overcurrent_standard_at_2_25=_amperes(circuit.device_high_standard),
        smallest_workable_standard=_amperes(circuit.smallest_workable),
        disconnect_minimum_current=_amperes(circuit.disconnect),
        disconnect_standard=_amperes(circuit.disconnect_standard),
        running_current=_amperes(circuit.running),
        locked_rotor_with_largest_starting=_amperes(circuit.starting),
    )


def _read(given: ServiceGiven) -> tuple[list[Duty], list[set[int]]]:
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
                why="440.22(A) knows these two factors",
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
    place: dict[str, int] = {}
    for index, machine in enumerate(machines):
        if place.setdefault(machine.machine_id, index) != index:
            detail = f"The id {machine.machine_id!r} stands twice in the list."
            errors.append(field_error(f"/machines/{index}/machine_id", detail, value=machine.machine_id))
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
