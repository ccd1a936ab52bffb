"""A refrigerant charge against the space it could fill, and the duties that come with it."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Example, Given, Notes, Results, about, calculator, finding, tidy
from coldwright.contract.quantities import Concentration, Duration, Length, Mass, Volume
from coldwright_refrigeration.cautions import FANS_START, LOCAL_RULES, REFRIGERANT_RELEASE, RELIEF_DISCHARGE
from coldwright_refrigeration.references import ASHRAE_34, IEC_60335_2_40, SAFETY
from coldwright_refrigeration.refrigerant_duties import (
    INTERVALS_TABLE,
    LEAK_RATES_TABLE,
    RECOVERY_TABLE,
    Duties,
    duties_of,
    refuse_contradictions,
)
from coldwright_refrigeration.refrigerant_limits import LIMITS, LIMITS_TABLE, flammable_cautions
from coldwright_refrigeration.refrigerant_placement import Placement, judge_placement, judge_relief, placement_of
from coldwright_refrigeration.saturation import SATURATION_TABLE

LimitedRefrigerant = Literal[
    "R-22",
    "R-32",
    "R-123",
    "R-134a",
    "R-290",
    "R-404A",
    "R-407C",
    "R-410A",
    "R-452B",
    "R-454B",
    "R-507A",
    "R-513A",
    "R-1234yf",
    "R-1234ze(E)",
]
"""The rows of the table of limits that have a concentration limit; a test holds the two together."""


class CircuitChargeGiven(Given, frozen=True, kw_only=True):
    """One independent circuit."""

    charge: Annotated[Mass, about("Full charge of the circuit.", low=0.001, high=10_000, unit="kg")]


class ReliefDischargeGiven(Given, frozen=True, kw_only=True):
    """Where the relief device blows to."""

    height_above_grade: Annotated[Length, about("Outlet above the ground.", low=0, high=300, unit="m")]
    distance_to_opening: Annotated[
        Length, about("Outlet to the nearest window, door or air intake.", low=0, high=1000, unit="m")
    ]


class AdditionGiven(Given, frozen=True, kw_only=True):
    """Refrigerant that was added to a circuit."""

    mass: Annotated[Mass, about("Refrigerant added.", above=0, high=10_000, unit="kg")]
    days_since_previous: (
        Annotated[
            Duration, about("Since the addition before; absent for the first ever.", low=1, high=36_500, unit="d")
        ]
        | UnsetType
    ) = UNSET
    circuit: Annotated[int, about("Index of the circuit in `circuits`.", low=0, high=49)] = 0


class RefrigerantSafetyGiven(Given, frozen=True, kw_only=True):
    """A machine's charge, where it stands, whose rules apply and what it serves."""

    refrigerant: Annotated[
        LimitedRefrigerant,
        about("Refrigerant by its ASHRAE 34 name; served are those with a concentration limit in our table."),
    ]
    circuits: Annotated[
        tuple[CircuitChargeGiven, ...], about("Independent circuits of the machine.", min_length=1, max_length=50)
    ]
    location: Annotated[
        Literal["outdoors", "enclosed_space", "machinery_room", "below_grade"],
        about("Where the refrigerant could gather; `below_grade` is any pit or basement."),
    ]
    space_volume: (
        Annotated[
            Volume,
            about("Smallest space that a leak can fill; required unless outdoors.", low=0.1, high=1e6, unit="m3"),
        ]
        | UnsetType
    ) = UNSET
    jurisdiction: Annotated[Literal["us", "eu", "gb"], about("Whose rules apply.")]
    use: Annotated[
        Literal["comfort_cooling", "industrial_process", "commercial_refrigeration", "other"],
        about("What the hire customer cools: it sets the leak-rate limit."),
    ]
    relief_discharge: Annotated[ReliefDischargeGiven, about("Relief outlet.")] | UnsetType = UNSET
    additions: Annotated[tuple[AdditionGiven, ...], about("Additions, oldest first.", max_length=200)] = ()
    date: (
        Annotated[
            str,
            about(
                "Day that the rules are asked for, RFC 3339 full-date.",
                pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$",
                max_length=10,
                examples=["2026-07-01"],
            ),
        ]
        | UnsetType
    ) = UNSET
    leak_detection: Annotated[bool, about("A leakage detection system raises an alarm.")] = False
    mechanical_ventilation: (
        Annotated[bool, about("Fans can clear the space, started by the detector; absent: not known.")] | UnsetType
    ) = UNSET
    hermetic: Annotated[bool, about("Hermetically sealed, and labelled so.")] = False
    listed_for_indoor_use: Annotated[
        bool, about("The machine is listed for this refrigerant in an occupied space.")
    ] = False


class DutyEntry(Results, frozen=True, kw_only=True):
    """Something the owner or operator must see to."""

    code: Annotated[
        Literal[
            "certified_technician",
            "no_venting",
            "recover_before_opening",
            "keep_records",
            "repair_leak",
            "verify_repair",
            "leak_check",
            "leak_detection",
        ],
        about("Stable word."),
    ]
    statement: Annotated[str, about("What must be done.")]
    due: Annotated[Duration, about("By when.")] | UnsetType = UNSET


class RefrigerantSafetyResults(Results, frozen=True, kw_only=True):
    """Concentration, limits and duties. What needs a space is left out outdoors."""

    safety_group: Annotated[Literal["A1", "A2L", "A3", "B1"], about("Safety group of ASHRAE 34.")]
    largest_charge: Annotated[Mass, about("Charge of the largest independent circuit.")]
    concentration_limit: Annotated[Concentration, about("Refrigerant concentration limit, as printed in g/m3.")]
    concentration: Annotated[Concentration, about("All of the largest circuit's charge in the space.")] | UnsetType = (
        UNSET
    )
    fraction_of_limit: Annotated[float, about("Concentration over its limit.")] | UnsetType = UNSET
    fraction_of_lfl: (
        Annotated[float, about("Concentration over the lower flammability limit; not for class 1.")] | UnsetType
    ) = UNSET
    minimum_space_volume: Annotated[Volume, about("Space that keeps the limit.")] | UnsetType = UNSET
    maximum_charge: Annotated[Mass, about("Largest circuit that this space allows.")] | UnsetType = UNSET
    co2_equivalent: Annotated[Mass, about("All charges times the warming potential of AR4.")]
    leak_rate: Annotated[float, about("Of the last addition, as a fraction of the full charge a year.")] | UnsetType = (
        UNSET
    )
    leak_rate_limit: (
        Annotated[float, about("Leak rate that asks for repair; left out where no rule applies.")] | UnsetType
    ) = UNSET
    leak_check_interval: (
        Annotated[int, about("Months between leak checks; `eu` and `gb` only, left out where none is due.")] | UnsetType
    ) = UNSET
    duties: Annotated[tuple[DutyEntry, ...], about("What must be done, by law.", max_length=12)]


@calculator(
    "refrigeration.refrigerant_safety",
    version="1.0.0",
    title="Refrigerant charge, space and duties",
    references=(ASHRAE_34, IEC_60335_2_40, *SAFETY),
    tables=(LIMITS_TABLE, LEAK_RATES_TABLE, INTERVALS_TABLE, RECOVERY_TABLE, SATURATION_TABLE),
    hazards=("refrigerant", "pressure"),
    findings=(
        finding("concentration_over_limit", ("stop", "check"), "A leak could exceed the concentration limit."),
        finding(
            "flammable_over_quarter_lfl", ("stop", "check"), "A leak could reach a quarter of the flammable limit."
        ),
        finding(
            "a3_not_listed", "stop", "A refrigerant of group A3 in a space, in a machine that is not listed for it."
        ),
        finding(
            "below_grade_unprotected",
            ("stop", "check"),
            "Below grade without detection and mechanical ventilation; `check` with detection and fans not told of.",
        ),
        finding("relief_outlet_too_near", "check", "The relief outlet is too low or too near to an opening."),
        finding("leak_rate_over_limit", "check", "The leak rate is above its limit: the repair clock runs."),
        finding("addition_above_charge", "check", "More was added at once than the circuit holds."),
        finding("detection_compulsory", "check", "From 500 t CO2 equivalent a detection system is compulsory."),
        finding("reclaimed_only", "note", "R-22 is no longer made: reclaimed refrigerant only."),
        finding("other_eu_rule", "note", "A rule beside the CO2 equivalent applies in the EU or Great Britain."),
        finding("space_volume_not_used", "note", "Outdoors the volume of a space has no part."),
    ),
    examples=(
        Example(
            "in a plant room",
            "An invented machine with two R-410A circuits in a hall of 300 m3.",
            {
                "refrigerant": "R-410A",
                "circuits": [{"charge": {"value": 24, "unit": "kg"}}, {"charge": {"value": 24, "unit": "kg"}}],
                "location": "enclosed_space",
                "space_volume": {"value": 300, "unit": "m3"},
                "jurisdiction": "eu",
                "use": "industrial_process",
            },
        ),
        Example(
            "a leaking circuit outdoors",
            "An invented R-454B machine that took refrigerant twice in four months.",
            {
                "refrigerant": "R-454B",
                "circuits": [{"charge": {"value": 55, "unit": "lb"}}, {"charge": {"value": 55, "unit": "lb"}}],
                "location": "outdoors",
                "jurisdiction": "us",
                "use": "comfort_cooling",
                "date": "2026-08-01",
                "additions": [
                    {"mass": {"value": 3, "unit": "lb"}, "circuit": 1},
                    {
                        "mass": {"value": 4, "unit": "lb"},
                        "circuit": 1,
                        "days_since_previous": {"value": 120, "unit": "d"},
                    },
                ],
                "relief_discharge": {
                    "height_above_grade": {"value": 16, "unit": "ft"},
                    "distance_to_opening": {"value": 40, "unit": "ft"},
                },
            },
        ),
    ),
)
def refrigerant_safety(given: RefrigerantSafetyGiven, notes: Notes) -> RefrigerantSafetyResults:
    """Could a leak harm people in the space, and which duties come with the charge?

    All of the largest independent circuit's charge in the smallest space that it can fill is held against the
    concentration limit of ASHRAE 34 and, for flammable refrigerants, against a quarter of the lower flammability limit
    (ASHRAE 15). The leak rate is annualised: added over full charge, times 365 over the days since the addition before
    (at most 365). CO2 equivalent is charge times the warming potential of the Fourth Assessment Report.

    Limits are shown with how they were seen; those from memory must be confirmed before a placement rests on them. The
    room's own rules (occupancy, ventilation, connected spaces) belong to the local code and the authority.
    """
    when = refuse_contradictions(given)
    limits = LIMITS[given.refrigerant]
    largest = max(c.charge.si for c in given.circuits)
    notes.caution(
        LOCAL_RULES, REFRIGERANT_RELEASE, RELIEF_DISCHARGE, FANS_START, *flammable_cautions(given.refrigerant)
    )
    _assume(given, notes)
    placement = placement_of(given, limits, largest, notes)
    judge_placement(given, limits, placement, notes)
    judge_relief(given, notes)
    duties = duties_of(given, limits, when, notes)
    return _results(limits.safety_group, largest, placement, duties)  # type: ignore[arg-type]


def _assume(given: RefrigerantSafetyGiven, notes: Notes) -> None:
    limits = LIMITS[given.refrigerant]
    if limits.mark == "memory":
        notes.assume(
            "limit_from_memory",
            f"The concentration limit of {given.refrigerant} ({limits.limit_g_m3:g} g/m3) is from memory: confirm it "
            "against the edition of ASHRAE 34 in force.",
            value=limits.limit_g_m3,
            basis="standard",
            references=(LIMITS_TABLE.reference.id,),
        )
    if given.date is UNSET:
        notes.assume(
            "rules_from_2026",
            "No date was given: the rules in force from 1 January 2026 are used.",
            value="2026-01-01",
            basis="default",
        )


def _results(
    safety_group: Literal["A1", "A2L", "A3", "B1"], largest: float, placement: Placement, duties: Duties
) -> RefrigerantSafetyResults:
    def concentration(value: float | None) -> Concentration | UnsetType:
        return UNSET if value is None else Concentration.from_si(value, "g/m3")

    def fraction(value: float | None) -> float | UnsetType:
        return UNSET if value is None else tidy(value)

    return RefrigerantSafetyResults(
        safety_group=safety_group,
        largest_charge=Mass.from_si(largest, "kg"),
        concentration_limit=Concentration.from_si(placement.limit, "g/m3"),
        concentration=concentration(placement.concentration),
        fraction_of_limit=fraction(placement.fraction_of_limit),
        fraction_of_lfl=fraction(placement.fraction_of_lfl),
        minimum_space_volume=(
            UNSET if placement.minimum_volume is None else Volume.from_si(placement.minimum_volume, "m3")
        ),
        maximum_charge=UNSET if placement.maximum_charge is None else Mass.from_si(placement.maximum_charge, "kg"),
        co2_equivalent=Mass.from_si(duties.co2_equivalent, "t"),
        leak_rate=fraction(duties.leak_rate),
        leak_rate_limit=fraction(duties.leak_rate_limit),
        leak_check_interval=UNSET if duties.leak_check_interval is None else duties.leak_check_interval,
        duties=tuple(
            DutyEntry(
                code=d.code,
                statement=d.statement,
                due=UNSET if d.due_days is None else Duration(float(d.due_days), "d"),
            )
            for d in duties.entries
        ),
    )
