"""The answer in its units, and what it takes for granted."""

from typing import Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, say, tidy
from coldwright.contract.quantities import Concentration, Duration, Mass, Volume
from coldwright_refrigeration.refrigerant_safety.duties import Duties
from coldwright_refrigeration.refrigerant_safety.given import RefrigerantSafetyGiven
from coldwright_refrigeration.refrigerant_safety.placement import Placement
from coldwright_refrigeration.refrigerant_safety.results import DutyEntry, RefrigerantSafetyResults
from coldwright_refrigeration.shared.refrigerant_limits import LIMITS, LIMITS_TABLE


def assume(given: RefrigerantSafetyGiven, notes: Notes) -> None:
    """Assumptions: a limit from memory, the date of the rules."""
    limits = LIMITS[given.refrigerant]
    if limits.mark == "memory" and limits.limit_g_m3 is not UNSET:
        notes.assume(
            "limit_from_memory",
            say(
                "The concentration limit of {refrigerant} ({limit:g}) is from memory: confirm it "
                "against the edition of ASHRAE 34 in force.",
                refrigerant=given.refrigerant,
                limit=Concentration.of(limits.limit_g_m3, "g/m3"),
            ),
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


def answer_of(
    safety_group: Literal["A1", "A2L", "A3", "B1"], largest: float, placement: Placement, duties: Duties
) -> RefrigerantSafetyResults:
    """The results in their units."""

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
