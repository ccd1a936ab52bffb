"""What `refrigeration.refrigerant_safety` answers."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import Concentration, Duration, Mass, Volume

DutyCode = Literal[
    "certified_technician",
    "no_venting",
    "recover_before_opening",
    "keep_records",
    "repair_leak",
    "verify_repair",
    "leak_check",
    "leak_detection",
]


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
