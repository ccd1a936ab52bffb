"""How long the liquid stays cold while a machine or its supply restarts, and what volume would carry it."""

from msgspec import UNSET, UnsetType

from coldwright.contract import Allowed, Load, Notes, Refused, calculator, field_error, finding, say
from coldwright.contract.quantities import Duration, Power, Temperature, Volume, VolumeFlow
from coldwright.contract.sentences import Sentence, Words
from coldwright_basis.compare import above, below
from coldwright_refrigeration.ride_through.examples import EXAMPLES
from coldwright_refrigeration.ride_through.given import Interruption, RideThroughGiven
from coldwright_refrigeration.ride_through.passing import Loop, gap_of, oil_cools
from coldwright_refrigeration.ride_through.results import Ridden, RideThroughResults
from coldwright_refrigeration.shared import liquids, references
from coldwright_refrigeration.shared.cautions import PLANNING

HOTTEST = 333.15
"""K: no supply of a chiller goes beyond 60 degC, since the load then gives less heat than it is taken to."""
MOST_BUFFER = 50.0
"""m3 of buffer that anybody would set beside a hired machine (common practice, no source)."""


@calculator(
    "refrigeration.ride_through",
    version="1.1.4",
    title="How long the liquid stays cold through a restart",
    references=(references.PRACTICE, references.FIRST_PRINCIPLES, references.COOLPROP),
    hazards=("general",),
    findings=(
        finding("not_kept_cold", "check", "The supply becomes too warm before the machines cool again."),
        finding("no_flow_in_outage", "check", "The pumps stop with the supply: no liquid reaches the load."),
        finding("oil_warms_again", "check", "After the outage the oil must be warmed before a compressor may start."),
        finding("never_cooled", "check", "Machines that restart, with those that run on, do not carry the load."),
    ),
    examples=EXAMPLES,
    load=Load.HEAVY,
)
def ride_through(given: RideThroughGiven, notes: Notes) -> RideThroughResults:
    """When the cooling stops, how long does the load get liquid that is cold enough?

    The liquid moves on as it stands in the loop. What is cold on its way arrives first, and the usable part of a buffer
    with it; after that the supply is warmer by one pass of the load for one turnover, then by two. Against that stands
    the time to the first stage that cools again (outage, controls, timer, oil warm-up) and the stages after it.
    """
    loop = _loop(given)
    notes.caution(*PLANNING)
    turnover = Duration.from_si(loop.volume / loop.flow, "min")
    cold = Duration.from_si(loop.cold / loop.flow, "min")
    asked = given.loop
    heat = liquids.volumetric_heat(asked.fluid, asked.leaving_temperature.si)
    expression = f"Q / (rho c dT) = {given.load} / ({heat / 1e6:.6g} MJ/m3.K x {asked.temperature_difference})"
    notes.show("F", "Flow of the load", expression, VolumeFlow.from_si(loop.flow, "L/s"))
    notes.show("t_turn", "Once around the loop", f"V / F = {asked.volume} / F", turnover)
    cold_volume = f"{asked.supply_volume} + {asked.usable_fraction:g} x {asked.buffer_volume}"
    expression = f"(V_supply + usable part of the buffer) / F = ({cold_volume}) / F"
    notes.show("t_cold", "Cold on its way", expression, cold)
    ridden = tuple(_ridden(given, loop, place, notes) for place in range(len(given.interruptions)))
    return RideThroughResults(turnover=turnover, cold_time=cold, interruptions=ridden)


def _loop(given: RideThroughGiven) -> Loop:
    loop, errors = given.loop, []
    if above(loop.supply_volume.si + loop.buffer_volume.si, loop.volume.si):
        errors.append(
            field_error(
                "/loop/volume",
                f"The loop holds {loop.volume}, and its supply and buffer more than that.",
                value=loop.volume,
                allowed=Allowed(
                    minimum=Volume.from_si(loop.supply_volume.si + loop.buffer_volume.si, "L").value, unit="L"
                ),
            )
        )
    if given.warmest_supply.si < loop.leaving_temperature.si:
        errors.append(
            field_error(
                "/warmest_supply",
                f"{given.warmest_supply} is colder than the supply in steady running, {loop.leaving_temperature}.",
                value=given.warmest_supply,
                allowed=Allowed(minimum=loop.leaving_temperature.to("degC"), unit="degC"),
            )
        )
    if errors:
        raise Refused(errors)
    liquids.check_liquid(loop.fluid, "/loop/fluid")
    liquids.check_liquid_at(loop.fluid, loop.leaving_temperature, "/loop/leaving_temperature")
    heat = liquids.volumetric_heat(loop.fluid, loop.leaving_temperature.si)
    return Loop(
        volume=loop.volume.si,
        cold=loop.supply_volume.si + loop.usable_fraction * loop.buffer_volume.si,
        flow=given.load.si / (heat * loop.temperature_difference.si),
        difference=loop.temperature_difference.si,
        usable=loop.usable_fraction,
    )


def _ridden(given: RideThroughGiven, loop: Loop, place: int, notes: Notes) -> Ridden:
    stop, at = given.interruptions[place], f"/interruptions/{place}"
    uncooled = given.load.si - stop.capacity_left.si
    supply = given.loop.leaving_temperature
    if uncooled <= 0.0:
        none = Duration(0, "min")
        return Ridden(
            name=stop.name, no_flow=none, no_cooling=none, carried=none, warmest_reached=supply, kept=True,
            volume_to_add=Volume(0, "L"),
        )  # fmt: skip
    cools = oil_cools(stop)
    gap = gap_of(stop, uncooled, given.capacity.si, oil_warm=not cools)
    share, rise = uncooled / given.load.si, given.warmest_supply.si - supply.si
    holds = loop.holds(rise, share)
    lacking = loop.to_add(gap.carried, rise, share)
    end = supply.si + loop.rise_after(gap.carried, share)
    reached = Temperature.from_si(end, "degC") if end <= HOTTEST else UNSET
    carried, held = Duration.from_si(gap.carried, "min"), Duration.from_si(holds, "min")
    first, ramp = gap.no_cooling - gap.no_flow, gap.ramp
    expression = f"to the first stage and what the later ones lack = {first:.6g} s + {ramp:.6g} s"
    notes.show("t_gap", f"{stop.name}: to be bridged", expression, carried)
    expression = f"cold on its way and so often once around = t_cold + {loop.passes(rise, share)} x t_turn"
    notes.show("t_hold", f"{stop.name}: bridged", expression, held)
    to_add = Volume.from_si(lacking, "L")
    warm_oil: Volume | UnsetType = UNSET
    if cools:
        shorter = gap_of(stop, uncooled, given.capacity.si, oil_warm=True)
        warm_oil = Volume.from_si(loop.to_add(shorter.carried, rise, share), "L")
    warm = above(gap.carried, holds)
    _note(stop, at, gap.no_flow, notes)
    if below(given.capacity.si, uncooled):
        notes.check(
            "never_cooled",
            say(
                "{name}: {capacity:us=ton} restarts for {load:us=ton} that nothing else cools.",
                name=stop.name,
                capacity=given.capacity,
                load=Power.from_si(uncooled, "kW"),
            ),
            why="The liquid then goes on warming with all machines back.",
            do="Count the machines again, or shed load for the restart.",
            cleared_by="the customer",
            field="/capacity",
        )
    if warm:
        notes.check(
            "not_kept_cold",
            say(
                "{name}: {gap} must be bridged with the liquid moving, and the loop bridges {held}; the supply {reaches}.",
                name=stop.name,
                gap=carried,
                held=held,
                reaches=say("goes above {hottest}", hottest=Temperature.from_si(HOTTEST, "degC"))
                if isinstance(reached, UnsetType)
                else say("reaches {reached}", reached=reached),
            ),
            why="The load goes on heating what the machines do not cool.",
            do=_bridged(carried, to_add, warm_oil),
            cleared_by="the customer",
            field=at,
        )
    return Ridden(
        name=stop.name,
        no_flow=Duration.from_si(gap.no_flow, "min"),
        no_cooling=Duration.from_si(gap.no_cooling, "min"),
        carried=carried,
        holds=held,
        warmest_reached=reached,
        kept=not warm and gap.no_flow <= 0.0,
        volume_to_add=to_add if warm else Volume(0, "L"),
        volume_to_add_with_warm_oil=warm_oil,
    )


def _bridged(gap: Duration, volume: Volume, warm_oil: Volume | UnsetType) -> Sentence:
    """What to do; nothing that nobody can build."""
    kept: Words = ""
    if not isinstance(warm_oil, UnsetType) and not above(warm_oil.to("m3"), MOST_BUFFER):
        kept = say("Keep the oil heaters fed; then {buffer} of buffer does it. ", buffer=warm_oil)
    if above(volume.to("m3"), MOST_BUFFER):
        return say(
            "No buffer bridges {gap}. {kept}Else: a machine that runs on, or load that can be shed.", gap=gap, kept=kept
        )
    return say(
        "{kept}{add} {volume} of buffer in the supply, a machine that runs on, or load that can be shed.",
        kept=kept,
        add="Else add" if kept else "Add",
        volume=volume,
    )


def _note(stop: Interruption, at: str, no_flow: float, notes: Notes) -> None:
    if no_flow > 0.0:
        notes.check(
            "no_flow_in_outage",
            say(
                "{name}: for {outage} no pump runs, and no liquid reaches the load.", name=stop.name, outage=stop.outage
            ),
            why="However cold the loop is, the load stands without cooling for so long.",
            do="Feed the pumps from a supply that stays: the site's own, or one without a break.",
            cleared_by="the site's electrician",
            field=f"{at}/circulation",
        )
    if oil_cools(stop):
        notes.check(
            "oil_warms_again",
            say(
                "{name}: after {outage} without supply the oil warms for {time} before a start.",
                name=stop.name,
                outage=stop.outage,
                time=stop.oil_warm_up,
            ),
            why="Oil heaters stop with the supply; a start with cold oil ruins compressors.",
            do="Keep the heaters on a supply that stays, or ask the maker after which outage a start is allowed at once.",
            cleared_by="the maker",
            field=f"{at}/oil_stays_warm",
            references=(references.PRACTICE.id,),
        )
