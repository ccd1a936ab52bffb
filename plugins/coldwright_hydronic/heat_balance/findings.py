"""What a person should know of a heat balance."""

from math import sqrt

from coldwright.contract import Notes, finding, say
from coldwright.contract.quantities import Temperature, TemperatureDifference
from coldwright_basis.compare import below
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_basis.liquids import freezing_temperature
from coldwright_hydronic.heat_balance.given import HeatBalanceGiven
from coldwright_hydronic.heat_balance.results import HeatBalanceResults

COLDEST_PLAIN_WATER = ZERO_CELSIUS + 4.4

FINDINGS = (
    finding("small_difference", "check", "The temperature difference is small against the error of the sensors."),
    finding("liquid_is_warmed", "check", "The liquid leaves warmer than it enters: at a cooling machine, crossed."),
    finding("rule_of_thumb_misleads", "check", "The rule of 500 is more than 3 % off with this liquid."),
    finding("near_freezing", "stop", "The cold end is within 2 K of the freezing point."),
    finding("cold_plain_water", "check", "Plain water leaves colder than 4.4 degC (40 degF)."),
    finding("unusual_flow_per_capacity", "note", "The flow for the heat is outside 1.5 to 3 gpm per ton."),
)


def judge(given: HeatBalanceGiven, notes: Notes, r: HeatBalanceResults, coldest: float, difference: float) -> None:
    """Findings on readings, liquid and cold end; `coldest` and `difference` in K."""
    sensors = sqrt(2.0) * given.temperature_error.si / abs(difference)
    cold = coldest - ZERO_CELSIUS
    if abs(difference) < 3.0 and sensors > 0.14:
        notes.check(
            "small_difference",
            say(
                "The difference is {difference:.2f} and the sensors alone make {sensors:.0%} of error.",
                difference=TemperatureDifference.of(abs(difference), "delta_degC"),
                sensors=sensors,
            ),
            why="Two sensors, each with its own error, are subtracted from one another.",
            resolve="Use one sensor in both wells or a matched pair, or raise the load before reading.",
            field="/temperature_error",
            references=("hydronic_practice",),
        )
    if difference < 0.0:
        notes.check(
            "liquid_is_warmed",
            say(
                "The liquid leaves {difference:.2f} warmer than it enters.",
                difference=TemperatureDifference.of(-difference, "delta_degC"),
            ),
            why="At a cooling machine the hoses or the sensors are crossed.",
            resolve="Follow the hoses, swap the sensors, read again.",
            field="/leaving_temperature",
        )
    if abs(r.rule_error_fraction) > 0.03:
        notes.check(
            "rule_of_thumb_misleads",
            f"500 gpm degF is {r.rule_error_fraction:+.1%} off: this liquid takes {r.us_constant:.0f}.",
            why="Glycol carries less heat than water.",
            resolve=f"Count with {r.us_constant:.0f}, in Btu/h for each gpm and degF.",
            field="/fluid",
        )
    freezing = freezing_temperature(given.fluid)
    if freezing is not None and coldest < freezing + 2.0:
        notes.stop(
            "near_freezing",
            say(
                "The cold end is at {cold:.2f}, the liquid freezes at {freezing:.2f}.",
                cold=Temperature.of(cold, "degC"),
                freezing=Temperature.from_si(freezing, "degC"),
            ),
            why="In the evaporator the wall is colder than the liquid that leaves it: ice forms there first.",
            resolve="Raise the set point, or raise the strength of the antifreeze.",
            field="/leaving_temperature",
            references=("hydronic_practice",),
        )
    if given.fluid.kind == "water" and below(coldest, COLDEST_PLAIN_WATER):
        notes.check(
            "cold_plain_water",
            say("Plain water at {cold:.2f} is colder than 4.4 degC (40 degF).", cold=Temperature.of(cold, "degC")),
            why="On the refrigerant's side the tubes may be below freezing by now.",
            resolve="Raise the set point to 4.4 degC (40 degF) or more, or use antifreeze.",
            field="/leaving_temperature",
            references=("hydronic_practice",),
        )
    if not 1.5 <= r.flow_per_capacity <= 3.0:
        notes.note(
            "unusual_flow_per_capacity",
            f"{r.flow_per_capacity:.2f} gpm per ton; 1.5 to 3 is usual (2.4 at a difference of 10 degF).",
            resolve="Look at the flow reading and at which load the machine stands.",
            field="/flow",
            references=("hydronic_practice",),
        )
