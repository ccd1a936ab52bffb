"""The temporary cable between supply and machine: size, drop, longest run and pick list."""

import math
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
    refuse,
    tidy,
)
from coldwright.contract.quantities import Current, Impedance, ImpedancePerLength, Length, Power, Temperature, Voltage
from coldwright_basis.ratings import OVERCURRENT_RATINGS
from coldwright_electrical import references as ref
from coldwright_electrical.ampacity import (
    AMBIENT_FACTORS,
    AMPACITY_IN_RACEWAY,
    AMPACITY_PORTABLE_CABLE,
    AMPACITY_RUBBER_CABLE,
    BUNDLING_FACTORS,
    RACEWAY_SIZES,
)
from coldwright_electrical.feeder_cable import CONNECTOR_RATINGS, Terms, terms_of
from coldwright_electrical.feeder_choice import Choice, Demand, choose, demand_of, enlargement
from coldwright_electrical.feeder_drop import (
    approximate_drop,
    exact_drop,
    longest_run_running,
    longest_run_starting,
    starting_drop_fraction,
)
from coldwright_electrical.feeder_findings import FINDINGS, Sums, judge, show_working
from coldwright_electrical.impedance import IMPEDANCE_IN_RACEWAY, LINE_REACTANCE, RESISTANCE_FLEXIBLE_COPPER
from coldwright_electrical.practice import (
    VOLTAGE_PAIRS,
    PracticeField,
    SystemFrequency,
    SystemVoltage,
    frequency_error,
)
from coldwright_electrical.protection import (
    EQUIPMENT_GROUND,
    PROTECTIVE_CONDUCTOR,
    equipment_ground,
    protective_conductor,
)
from coldwright_electrical.sizes import SIZE_PATTERN, cross_section

Construction = Literal["single_conductor_portable", "multi_conductor_portable", "wire_in_raceway"]
Arrangement = Literal["bundled_per_set", "flat_touching", "spaced", "conductors_of_a_phase_grouped"]
Ends = Literal["connectors", "tails_to_lugs", "mixed"]
TemperatureClass = Literal[60, 75, 90]

RAMP_WIDTH: Final = 0.9
SPARES_PER: Final = 20


class FeederGiven(Given, frozen=True, kw_only=True):
    """Load, device, run and cable of one feeder. Copper conductors only."""

    practice: PracticeField
    system_voltage: SystemVoltage
    frequency: SystemFrequency
    load_current: Annotated[Current, about("Running current of the load.", low=1, high=4000, unit="A")]
    minimum_ampacity: Annotated[
        Current,
        about(
            "Least ampacity of the circuit, from `electrical.service`; under nec not below the load.",
            above=0,
            high=6000,
            unit="A",
        ),
    ]
    overcurrent_device: Annotated[
        Current, about("Rating of the overcurrent device before the cable.", above=0, high=6000, unit="A")
    ]
    length: Annotated[
        Length,
        about("Length of the run, one way.", above=0, high=600, unit="m", why="longer runs are no temporary feeders"),
    ]
    power_factor: Annotated[
        float,
        about(
            "Power factor of the running load; 0.8 is taken by some where it is unknown.",
            low=0.3,
            high=1,
            basis="common_practice",
            references=(ref.UFC_3_520_01.id,),
        ),
    ] = 0.85
    starting_current: (
        Annotated[Current, about("Current of the largest start.", above=0, high=30000, unit="A")] | UnsetType
    ) = UNSET
    starting_power_factor: Annotated[
        float, about("Power factor of the start.", low=0.1, high=0.8, basis="common_practice")
    ] = 0.35
    source_resistance: (
        Annotated[Impedance, about("Resistance of the source, per phase.", low=0, high=10, unit="ohm")] | UnsetType
    ) = UNSET
    source_reactance: (
        Annotated[Impedance, about("Reactance of the source, per phase.", low=0, high=10, unit="ohm")] | UnsetType
    ) = UNSET
    ambient_temperature: Annotated[
        Temperature,
        about(
            "Air around the cable; up to 59 degC, for cable of the 90 degC class up to 70 degC.",
            low=-40,
            high=70,
            unit="degC",
            basis="common_practice",
        ),
    ] = Temperature(40.0, "degC")
    construction: Annotated[Construction, about("What the cable is.")] = "single_conductor_portable"
    conductor_material: Annotated[
        Literal["copper"], about("Metal of the conductors; the method holds for copper only.")
    ] = "copper"
    conductor_size: (
        Annotated[
            str,
            about(
                "Size to check instead of choosing one: `4/0 AWG`, `250 kcmil`, `120 mm2`.",
                pattern=SIZE_PATTERN,
                max_length=20,
                examples=["4/0 AWG", "120 mm2"],
            ),
        ]
        | UnsetType
    ) = UNSET
    sets: Annotated[int, about("Parallel sets, instead of choosing their number.", low=1, high=10)] | UnsetType = UNSET
    insulation_temperature: (
        Annotated[TemperatureClass, about("Class of the insulation in degC; 90 under nec, 60 under iec.")] | UnsetType
    ) = UNSET
    termination_temperature: (
        Annotated[
            TemperatureClass,
            about("Class of the terminations in degC; 60 up to a device of 100 A, 75 above, unless they are marked."),
        ]
        | UnsetType
    ) = UNSET
    termination_basis: Annotated[
        Literal["table_310_16", "connector_rating"],
        about(
            "What limits the ends: the table's ampacity at the terminations' temperature, or the rating of listed "
            "connectors at both ends.",
            basis="standard",
            references=(ref.NEC_110_14.id,),
        ),
    ] = "table_310_16"
    connector_rating: (
        Annotated[Current, about("Rated current of the connectors at both ends.", above=0, high=1000, unit="A")]
        | UnsetType
    ) = UNSET
    current_carrying_conductors: Annotated[
        int,
        about("Conductors of a bundle or cable that carry current; a neutral only if it does.", low=1, high=60),
    ] = 3
    neutral: Annotated[bool, about("Whether a neutral is laid.")] = False
    arrangement: Annotated[Arrangement, about("How single conductors are laid.", basis="common_practice")] = (
        "bundled_per_set"
    )
    resistance_per_length: (
        Annotated[
            ImpedancePerLength,
            about("Resistance of the conductor, instead of the table's.", low=0.001, high=50, unit="ohm/km"),
        ]
        | UnsetType
    ) = UNSET
    reactance_per_length: (
        Annotated[
            ImpedancePerLength,
            about("Reactance of the conductor as laid, instead of the table's.", low=0, high=5, unit="ohm/km"),
        ]
        | UnsetType
    ) = UNSET
    ampacity_each: (
        Annotated[
            Current,
            about(
                "What one conductor of the size given carries as it lies on site, instead of the table's; factors are "
                "not applied to it.",
                above=0,
                high=2000,
                unit="A",
            ),
        ]
        | UnsetType
    ) = UNSET
    ampacity_source: Annotated[Text, about("Where `ampacity_each` comes from.")] | UnsetType = UNSET
    allowed_drop_running_fraction: (
        Annotated[float, about("Allowed running drop; 0.03 under nec, 0.05 under iec.", low=0.005, high=0.1)]
        | UnsetType
    ) = UNSET
    allowed_drop_starting_fraction: Annotated[
        float, about("Allowed drop during the start.", low=0.05, high=0.3, basis="common_practice")
    ] = 0.15
    section_length: (
        Annotated[
            Length, about("Length of one cable section; 50 ft under nec, 15 m under iec.", low=1, high=600, unit="m")
        ]
        | UnsetType
    ) = UNSET
    ends: Annotated[
        Ends, about("Ends of the run: connectors at both, lugs at both, or one of each.", basis="common_practice")
    ] = "connectors"
    crossings: Annotated[int, about("Places where traffic crosses the cable.", low=0, high=100)] = 0
    crossing_width: Annotated[
        Length, about("Width of a crossing.", low=0.1, high=100, unit="m", basis="common_practice")
    ] = Length(4.0, "m")


class PickListResults(Results, frozen=True, kw_only=True):
    """What to load on the lorry."""

    sections: Annotated[int, about("Sections in line.")]
    cable_pieces: Annotated[int, about("Pieces of cable: sections of all lines, ground and neutral included.")]
    mated_pairs: Annotated[int, about("Pairs of connectors to be joined.")]
    ramps: Annotated[int, about("Pieces of cable ramp.")]
    spare_pieces: Annotated[int, about("Spare pieces: one of each colour for every 20.")]
    line_colors: Annotated[
        tuple[str, ...], about("Usual colours of lines, neutral and ground, for information: site marking prevails.")
    ]


class FeederResults(Results, frozen=True, kw_only=True):
    """The cable, what it carries, what it drops. A value is left out where the method has none."""

    conductor_size: Annotated[str, about("Size of the conductors.")]
    sets: Annotated[int, about("Parallel sets.")]
    ampacity_table: Annotated[str, about("Where the ampacity comes from.")]
    temperature_factor: Annotated[float, about("Factor for the ambient temperature.")]
    bundling_factor: Annotated[float, about("Factor for more than three current-carrying conductors.")]
    ampacity_each: Annotated[Current, about("Table x factors, before the limits below.")]
    contact_limit_each: Annotated[Current, about("Limit of single conductors that touch.")] | UnsetType = UNSET
    termination_limit_each: (
        Annotated[Current, about("Limit of the terminations by the table of their temperature.")] | UnsetType
    ) = UNSET
    ampacity_total: Annotated[Current, about("All sets, each at the smallest of its limits, terminations by table.")]
    ampacity_total_if_connector_basis: (
        Annotated[Current, about("The same with the connectors' rating in place of the terminations' limit.")]
        | UnsetType
    ) = UNSET
    ampacity_deciding: Annotated[Current, about("The one of the two that the verdict rests on.")]
    equipment_ground_size: Annotated[str, about("Size of one equipment ground; one in each set.")] | UnsetType = UNSET
    resistance: Annotated[Impedance, about("Resistance of the whole run, all sets in parallel, one conductor.")]
    reactance: Annotated[Impedance, about("Reactance of the same.")]
    drop_running_approximate: Annotated[Voltage, about("Running drop by the short form, line to line.")]
    drop_running: Annotated[Voltage, about("Running drop, exact, line to line.")]
    drop_running_fraction: Annotated[float, about("The exact drop over the system voltage.")]
    voltage_at_machine: Annotated[Voltage, about("Voltage at the machine while running.")]
    starting_drop_fraction: Annotated[float, about("Drop during the start over the system voltage.")] | UnsetType = (
        UNSET
    )
    starting_voltage: Annotated[Voltage, about("Voltage at the machine during the start.")] | UnsetType = UNSET
    longest_run: Annotated[Length, about("Run at which the first of the allowed drops is used up.")]
    loss: Annotated[Power, about("Heat lost in the cable.")]
    pick_list: Annotated[PickListResults, about("What to load on the lorry.")]
    verdict: Annotated[
        Literal["ok", "not_ok"], about("`not_ok` where ampacity, device, parallel sets, laying or voltage forbid it.")
    ]


EXAMPLES: Final = (
    Example(
        "choose_cable",
        "Choose cable for an invented 395 A load 250 ft away, starting current included.",
        {
            "practice": "nec",
            "system_voltage": {"value": 480, "unit": "V"},
            "frequency": {"value": 60, "unit": "Hz"},
            "load_current": {"value": 394.8, "unit": "A"},
            "minimum_ampacity": {"value": 424.8, "unit": "A"},
            "overcurrent_device": {"value": 450, "unit": "A"},
            "length": {"value": 250, "unit": "ft"},
            "starting_current": {"value": 1100, "unit": "A"},
            "crossings": 1,
        },
    ),
    Example(
        "check_iec_cable",
        "Check one set of 70 mm2 over an invented run of 60 m.",
        {
            "practice": "iec",
            "system_voltage": {"value": 400, "unit": "V"},
            "frequency": {"value": 50, "unit": "Hz"},
            "load_current": {"value": 182, "unit": "A"},
            "minimum_ampacity": {"value": 182, "unit": "A"},
            "overcurrent_device": {"value": 200, "unit": "A"},
            "length": {"value": 60, "unit": "m"},
            "conductor_size": "70 mm2",
            "sets": 1,
            "neutral": True,
        },
    ),
)


@calculator(
    "electrical.feeder",
    version="1.1.0",
    title="Temporary feeder cable: size, voltage drop, longest run and pick list",
    references=(
        ref.NEC_240_4,
        ref.NEC_110_14,
        ref.NEC_310_10,
        ref.NEC_400_5,
        ref.NEC_250_122,
        ref.NEC_215_2,
        ref.UFC_3_520_01,
        ref.IEEE_141,
        ref.IEC_60364_5_52_DROP,
        ref.IEC_60364_4_43,
        ref.IEC_60445,
        ref.LINE_SPACING,
        ref.NEMA_MG_1,
        *ref.SAFE_WORK,
    ),
    tables=(
        OVERCURRENT_RATINGS,
        AMPACITY_IN_RACEWAY,
        AMPACITY_PORTABLE_CABLE,
        AMPACITY_RUBBER_CABLE,
        AMBIENT_FACTORS,
        BUNDLING_FACTORS,
        IMPEDANCE_IN_RACEWAY,
        RESISTANCE_FLEXIBLE_COPPER,
        LINE_REACTANCE,
        EQUIPMENT_GROUND,
        PROTECTIVE_CONDUCTOR,
        CONNECTOR_RATINGS,
        VOLTAGE_PAIRS,
    ),
    hazards=("electrical",),
    findings=FINDINGS,
    examples=EXAMPLES,
)
def feeder(given: FeederGiven, notes: Notes) -> FeederResults:
    """Choose or check copper cable of a three-phase feeder.

    Ampacity: table x ambient x bundling, at most the limits of touching conductors and of terminations (nec), times the
    sets. The device must protect the cable. Drop: sqrt(3) I (R cos + X sin) and the exact phasor form (IEEE 141); start
    as a constant impedance. The longest run is that at which an allowed drop is used up. Holds for 180 to 690 V, runs up
    to 600 m, copper, up to ten equal sets; sizes whose cells were not seen are refused, not interpolated.
    """
    _refuse_contradictions(given)
    terms = terms_of(given)
    demand = demand_of(given, terms)
    choice = choose(given, terms, demand)
    sums = _sums(given, demand, choice)
    _assume(given, terms, demand, choice, notes)
    fine = judge(given, terms, demand, choice, sums, notes)
    show_working(given, terms, demand, choice, sums, notes)
    return _results(given, terms, demand, choice, sums, fine)


def _refuse_contradictions(given: FeederGiven) -> None:
    errors: list[FieldError] = []
    if error := frequency_error(given.frequency):
        errors.append(error)
    least, load = given.minimum_ampacity.si, given.load_current.si
    if given.practice == "nec" and least < load * (1 - 1e-9):
        errors.append(
            field_error(
                "/minimum_ampacity",
                f"{least:g} A is below the running load of {load:g} A.",
                value=given.minimum_ampacity,
                allowed=Allowed(minimum=load, unit="A"),
                why="a circuit must carry at least what runs on it",
            )
        )
    own, source = given.ampacity_each is not UNSET, given.ampacity_source is not UNSET
    if own is not source:
        name, other = ("ampacity_source", "ampacity_each") if own else ("ampacity_each", "ampacity_source")
        errors.append(field_error(f"/{name}", f"`{other}` is given without `{name}`.", code="missing"))
    if given.conductor_size is UNSET and (own or given.resistance_per_length is not UNSET):
        detail = "An ampacity or resistance of your own is that of one size: say which."
        errors.append(field_error("/conductor_size", detail, code="missing"))
    if errors:
        raise Refused(errors)


def _sums(given: FeederGiven, demand: Demand, choice: Choice) -> Sums:
    cable, sets, load = choice.cable, choice.sets, demand.load
    resistance = cable.resistance * demand.length / sets
    reactance = cable.reactance * demand.length / sets
    exact = exact_drop(resistance, reactance, load)
    if exact is None:
        raise refuse(
            "/length",
            f"{sets} x {cable.size} cannot carry {load.current:.5g} A over {given.length}, with the impedance of "
            "the source: no voltage would be left.",
            value=given.length,
            why="outside the method: shorten the run, or take more copper",
        )
    per_metre = complex(cable.resistance, cable.reactance) / sets
    longest = longest_run_running(per_metre, load, demand.allowed_running)
    starting_fraction, by_starting = None, False
    if demand.start is not None:
        starting_fraction = starting_drop_fraction(resistance, reactance, demand.start)
        run = longest_run_starting(per_metre, demand.start, demand.allowed_starting)
        longest, by_starting = (run, True) if run < longest else (longest, False)
    ground, by_table = _ground(demand, choice)
    return Sums(
        total=cable.total(sets),
        deciding=cable.deciding(sets, connector_basis=demand.connector_basis),
        resistance=resistance,
        reactance=reactance,
        approximate=approximate_drop(resistance, reactance, load),
        exact=exact,
        starting_fraction=starting_fraction,
        longest=longest,
        longest_by_starting=by_starting,
        loss=3 * load.current**2 * resistance,
        ground=ground,
        ground_by_table=by_table,
    )


def _ground(demand: Demand, choice: Choice) -> tuple[str | None, str | None]:
    """Size of one ground, and what the table alone gives; 250.122(B) enlarges it with lines enlarged for drop."""
    if not demand.nec:
        size = protective_conductor(choice.cable.size)
        return size, size
    by_table = equipment_ground(demand.device)
    factor = enlargement(choice)
    if by_table is None or factor <= 1:
        return by_table, by_table
    wanted = min(cross_section(by_table) * factor, max(choice.cable.area, cross_section(by_table)))
    larger = next((s for s in RACEWAY_SIZES if cross_section(s) >= wanted * (1 - 1e-9)), by_table)
    return larger, by_table


def _assume(given: FeederGiven, terms: Terms, demand: Demand, choice: Choice, notes: Notes) -> None:
    if given.insulation_temperature is UNSET:
        statement = f"Insulation of the {terms.insulation} degC class."
        notes.assume("insulation_temperature", statement, value=terms.insulation, basis="common_practice")
    if given.allowed_drop_running_fraction is UNSET:
        notes.assume(
            "allowed_drop_running_fraction",
            f"A running drop of {demand.allowed_running:g} of the system voltage is allowed.",
            value=demand.allowed_running,
            basis="standard",
            references=(ref.NEC_215_2.id if demand.nec else ref.IEC_60364_5_52_DROP.id,),
        )
    if given.section_length is UNSET:
        section = _section(given)
        notes.assume("section_length", f"Cable comes in sections of {section}.", value=section, basis="common_practice")
    if not demand.nec:
        return
    if given.termination_temperature is UNSET:
        notes.assume(
            "termination_temperature",
            f"Terminations of the {terms.termination} degC class, behind a device of {demand.device:g} A.",
            value=terms.termination,
            basis="standard",
            references=(ref.NEC_110_14.id,),
        )
    if given.connector_rating is UNSET and choice.cable.connector is not None:
        notes.assume(
            "connector_rating",
            f"Connectors on {choice.cable.size} are rated {choice.cable.connector:g} A.",
            value=Current.of(choice.cable.connector, "A"),
            basis="common_practice",
            references=(CONNECTOR_RATINGS.reference.id,),
        )


def _section(given: FeederGiven) -> Length:
    if given.section_length is not UNSET:
        return given.section_length
    return Length(50.0, "ft") if given.practice == "nec" else Length(15.0, "m")


def _pick_list(given: FeederGiven, sets: int) -> PickListResults:
    """Every line of every set in sections, joined to one another and at the ends."""
    sections = math.ceil(given.length.si / _section(given).si - 1e-9)
    conductors = 1 if given.construction == "multi_conductor_portable" else 4 + given.neutral
    joints = sections + {"connectors": 1, "mixed": 0, "tails_to_lugs": -1}[given.ends]
    return PickListResults(
        sections=sections,
        cable_pieces=sets * conductors * sections,
        mated_pairs=sets * conductors * joints,
        ramps=given.crossings * math.ceil(given.crossing_width.si / RAMP_WIDTH - 1e-9),
        spare_pieces=conductors * math.ceil(sets * sections / SPARES_PER),
        line_colors=_colors(given),
    )


def _colors(given: FeederGiven) -> tuple[str, ...]:
    if given.practice == "iec":
        lines, neutral, ground = ("brown", "black", "grey"), "blue", "green-yellow"
    elif given.system_voltage.si <= 250:
        lines, neutral, ground = ("black", "red", "blue"), "white", "green"
    else:
        lines, neutral, ground = ("brown", "orange", "yellow"), "grey", "green"
    return (*lines, *((neutral,) if given.neutral else ()), ground)


def _ampacity_table(given: FeederGiven) -> str:
    if given.ampacity_source is not UNSET:
        return given.ampacity_source
    if given.practice == "iec":
        table = AMPACITY_RUBBER_CABLE
    else:
        table = AMPACITY_IN_RACEWAY if given.construction == "wire_in_raceway" else AMPACITY_PORTABLE_CABLE
    return f"{table.reference.title}, {table.reference.clause}"


def _amps(value: float | None) -> Current | UnsetType:
    return UNSET if value is None else Current.of(value, "A")


def _results(given: FeederGiven, terms: Terms, demand: Demand, choice: Choice, sums: Sums, fine: bool) -> FeederResults:
    cable, sets, voltage = choice.cable, choice.sets, demand.load.voltage
    start = sums.starting_fraction
    return FeederResults(
        conductor_size=cable.size,
        sets=sets,
        ampacity_table=_ampacity_table(given),
        temperature_factor=tidy(terms.temperature_factor),
        bundling_factor=terms.bundling_factor,
        ampacity_each=Current.of(cable.each, "A"),
        contact_limit_each=_amps(cable.contact),
        termination_limit_each=_amps(cable.termination),
        ampacity_total=Current.of(sums.total, "A"),
        ampacity_total_if_connector_basis=_amps(cable.total_by_connector(sets)),
        ampacity_deciding=Current.of(sums.deciding, "A"),
        equipment_ground_size=UNSET if sums.ground is None else sums.ground,
        resistance=Impedance.of(sums.resistance, "ohm"),
        reactance=Impedance.of(sums.reactance, "ohm"),
        drop_running_approximate=Voltage.of(sums.approximate, "V"),
        drop_running=Voltage.of(sums.exact, "V"),
        drop_running_fraction=tidy(sums.exact / voltage),
        voltage_at_machine=Voltage.of(voltage - sums.exact, "V"),
        starting_drop_fraction=UNSET if start is None else tidy(start),
        starting_voltage=UNSET if start is None else Voltage.of(voltage * (1 - start), "V"),
        longest_run=Length.of(sums.longest, "m"),
        loss=Power.of(sums.loss / 1000, "kW"),
        pick_list=_pick_list(given, sets),
        verdict="ok" if fine else "not_ok",
    )
