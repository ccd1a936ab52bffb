"""Loop and machine from the request, and what of it is refused."""

import math

from msgspec import UNSET

from coldwright.contract import Allowed, FieldError, Notes, Refused, field_error, say, tidy
from coldwright.contract.quantities import Duration, HeatLossCoefficient, Power, Temperature
from coldwright_basis.compare import above, below
from coldwright_refrigeration.pull_down.curve import HOUR, Moment, Plant
from coldwright_refrigeration.pull_down.given import PullDownGiven
from coldwright_refrigeration.pull_down.volume import LEAST_SHARE
from coldwright_refrigeration.shared import liquids


def refuse_contradictions(given: PullDownGiven) -> None:
    """Refuse temperatures, liquids and machines that do not belong together; every fault is named."""
    errors: list[FieldError] = []
    fluid = given.loop.fluid
    if given.set_point.si >= given.initial_temperature.si:
        text = f"The set point of {given.set_point} does not lie below the {given.initial_temperature} of the loop."
        why = "There is nothing to pull down."
        errors.append(field_error("/set_point", text, value=given.set_point, why=why))
    try:
        liquids.check_liquid(fluid, "/loop/fluid")
    except Refused as refused:
        raise Refused([*errors, *refused.errors]) from None
    for name in ("initial_temperature", "set_point"):
        try:
            liquids.check_liquid_at(fluid, getattr(given, name), f"/{name}")
        except Refused as refused:
            errors += refused.errors
    machine = given.machine
    reference, limit = rated_and_limit(given)
    lower = reference - min(given.set_point.si, limit)
    share = 1 - machine.capacity_slope * lower
    if share < LEAST_SHARE:
        most = (1 - LEAST_SHARE) / lower
        errors.append(
            field_error(
                "/machine/capacity_slope",
                f"By this slope {share:.0%} of the capacity is left at the set point.",
                value=machine.capacity_slope,
                allowed=Allowed(minimum=0, maximum=tidy(math.floor(most * 1e6) / 1e6)),
                why="A straight line does not hold that far from the reference temperature.",
            )
        )
    if errors:
        raise Refused(errors)


def rated_and_limit(given: PullDownGiven) -> tuple[float, float]:
    """Temperatures, K, of the rated capacity and of the greatest; a rating above the greatest is the greatest."""
    machine = given.machine
    reference = given.set_point if machine.reference_temperature is UNSET else machine.reference_temperature
    limit = machine.capacity_limit_temperature
    most = math.inf if limit is UNSET else limit.si
    return min(reference.si, most), most


def plant_of(given: PullDownGiven, notes: Notes) -> Plant:
    """Loop and machine in SI units."""
    machine, loop = given.machine, given.loop
    mean = (given.initial_temperature.si + given.set_point.si) / 2
    heat = liquids.volumetric_heat(loop.fluid, mean)
    metal = loop.metal_mass.si * loop.metal_specific_heat.si
    total = loop.volume.si * heat + metal
    expression = f"V rho c + m c = {loop.volume} x {heat / 1e6:.5f} MJ/m3.K + {metal / 1e6:.5g} MJ/K"
    notes.show("C", "Heat capacity of the loop", expression, total / 1e6, "MJ/K")
    gain, ambient = 0.0, given.set_point.si
    if given.heat_gain is not UNSET:
        gain, ambient = given.heat_gain.coefficient.si, given.heat_gain.ambient_temperature.si
    reference, limit = rated_and_limit(given)
    return Plant(
        total,
        given.load.si,
        gain,
        ambient,
        machine.capacity.si,
        machine.stages,
        reference,
        machine.capacity_slope,
        limit,
    )


def horizon(plant: Plant) -> float:
    """How long a curve goes on, s, that never ends at its set point: until it has all but settled, or an hour."""
    steady = plant.steady()
    if steady is None:
        return HOUR
    steepness = plant.steepness(plant.stages, above_limit=steady > plant.limit)
    return min(8 * plant.heat_capacity / steepness, LONGEST)


def before_the_start(given: PullDownGiven, notes: Notes) -> None:
    """What the loop does until the first stage may start."""
    since, needed = given.oil_heated_since, given.oil_heating_before_start
    if since is not UNSET and below(since.si, needed.si):
        rest = Duration.from_si(needed.si - since.si, "min")
        notes.stop(
            "oil_heating_incomplete",
            say(
                "The oil has been heated for {since}; {needed} are asked for, so {rest} are missing.",
                since=since,
                needed=needed,
                rest=rest,
            ),
            why="Refrigerant dissolved in cold oil boils at the start and takes the oil out of the compressor.",
            resolve=say("Leave the heaters on for {rest} more. Every loss of power starts the count again.", rest=rest),
            field="/oil_heated_since",
            references=("refrigeration_practice",),
        )
    most = given.machine.maximum_entering_temperature
    if most is not UNSET and above(given.initial_temperature.si, most.si):
        notes.check(
            "entering_above_maximum",
            say(
                "The loop is at {initial_temperature}, and the machine takes liquid up to {most}.",
                initial_temperature=given.initial_temperature,
                most=most,
            ),
            why="Warm liquid overloads the compressors and lifts the suction pressure beyond its limit.",
            resolve="Throttle the flow or blend cold liquid in until the liquid enters below the limit.",
            field="/initial_temperature",
            references=("refrigeration_practice",),
        )


def show_curve(given: PullDownGiven, plant: Plant, curve: list[Moment], reaches: bool, notes: Notes) -> None:
    """The working of the curve."""
    machine = given.machine
    for moment in curve[:-1]:
        net = plant.net(moment.stages, moment.temperature)
        at = Temperature.from_si(moment.temperature, "degC")
        warmer = HeatLossCoefficient.from_si(plant.gain, "kW/K")
        expression = (
            f"L + UA (Ta - T) - n/N Q (1 + k (T - Tr)) = {given.load} + {warmer} x "
            f"{plant.ambient - moment.temperature:.6g} K - {moment.stages}/{plant.stages} x {machine.capacity} x "
            f"(1 + {plant.slope:g} x {plant.rise(moment.temperature):.6g})"
        )
        notes.show("C dT/dt", f"Heat into the loop at {at}", expression, Power.from_si(net, "kW"))
    steady = plant.steady()
    if steady is not None and 0.0 < steady <= HOTTEST:  # K: none below absolute zero, nor where no liquid is known
        expression = "where L + UA (Ta - T) = Q (1 + k (T - Tr))"
        notes.show("T_inf", "Where all stages would hold the loop", expression, Temperature.from_si(steady, "degC"))
    if reaches:
        expression = f"from {given.initial_temperature} to {given.set_point}, start by start"
        notes.show("t", "Time to set point", expression, Duration.from_si(curve[-1].time, "min"))


LONGEST = 7 * 24 * HOUR
HOTTEST = 368.15
"""K: 95 degC, up to which liquid data reach."""
