"""What the plan takes from common practice, beside what the order leaves open."""

from collections.abc import Callable

from msgspec import UNSET

from coldwright.contract import Notes, say
from coldwright.contract.quantities import (
    Angle,
    Length,
    Power,
    PressureDifference,
    Temperature,
    Volume,
    VolumeFlow,
)
from coldwright.contract.sentences import Words
from coldwright_booking.order.facts import FROST, Facts
from coldwright_booking.plan.arrival import DRUM_PUMP
from coldwright_booking.plan.cable import SOURCE_ANGLE
from coldwright_booking.plan.crew import HANDS
from coldwright_booking.plan.desk import Asked, Unanswered
from coldwright_booking.plan.fill import LOAD_SIDE_PER_KW
from coldwright_booking.plan.generating_set import MARKET_SETS
from coldwright_booking.plan.hoses import USUAL_BORES
from coldwright_booking.plan.laying import CORD_RATE, HOSE_RATES, SINGLE_RATE, WIDEST_RATE
from coldwright_booking.plan.liquid import COLDEST_WATER
from coldwright_booking.plan.load import HOSE_WALL_RATIO, SUMMER_SUN, USUAL_DIFFERENCE
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.machines import LONGEST_LIST
from coldwright_booking.plan.picking_filling import DRUM
from coldwright_booking.plan.pipework import SAME_BORE, TEE
from coldwright_booking.plan.plan import Plan
from coldwright_booking.plan.site import MIDDLE_OF_SET, SitePlan
from coldwright_booking.plan.starts import PRESSURE_BAND
from coldwright_booking.plan.supply import SupplyPlan
from coldwright_booking.plan.surge import HOSE_WAVE_SPEED
from coldwright_booking.plan.transport import MOST_ON_PALLET, PALLET, VEHICLES
from coldwright_booking.references import PRACTICE

Practice = Callable[[str, Words, object], None]


def assume(plan: Plan, notes: Notes) -> None:
    """List them."""
    facts = plan.facts

    def practice(code: str, statement: Words, value: object) -> None:
        notes.assume(code, statement, value=value, basis="common_practice", references=(PRACTICE.id,))

    _of_liquid(facts, practice)
    if not plan.combination:
        return
    _of_mixture(plan, notes)
    limit = plan.machines.choice.ground_limit if plan.machines.choice else UNSET
    if limit is not UNSET:
        notes.assume(
            "ground_held_to",
            say(
                "No order limits the ground. The selection was held to {limit} so that its list of {listed} reaches the "
                "combination that takes the least; combinations of more ground are not among the alternatives.",
                limit=limit,
                listed=LONGEST_LIST,
            ),
            value=limit,
            basis="derived",
        )
    if isinstance(plan.loop, LoopPlan):
        _of_hose(facts, plan.loop, practice)
    if plan.standing is not None:
        practice("fill_pressure", "Pressure at the machine, pump off: 40 psi, or what the top asks for.", plan.standing)
    if facts.order.load_side.volume is UNSET:
        practice("load_side_volume", "Litres in the load side for each kW.", LOAD_SIDE_PER_KW)
    _of_use(plan, practice)
    if plan.surge is not None:
        practice("hose_wave_speed", "Wave speed in the hose, on the stiff side.", HOSE_WAVE_SPEED)
    _of_supply(facts, plan.supply, practice)
    practice("all_share_the_load", "All machines run side by side, those for redundancy too.", "all")
    if isinstance(plan.arrival, Asked):
        _of_arrival(plan, practice)
    if plan.antifreeze is not None and plan.antifreeze.row is None:
        practice("drum_size", "The stock names no drum: this is the usual one.", Volume(DRUM, "L"))
    lifts = plan.lifting.lifts if plan.lifting else ()
    if any(isinstance(lift, Asked) and lift.given.hook_z is not UNSET for _, lift in lifts):
        practice(
            "sling_legs", "The farthest leg of the sling stands at this angle from the horizontal.", Angle(60, "deg")
        )
    if isinstance(plan.layout, Asked) and facts.order.site.area is not UNSET:
        share = plan.layout.given.recirculation_fraction
        practice("hot_air_return", "Share of the hot air that the machines draw again.", share)
    if plan.site is not None:
        _of_site(plan.site, practice)
    if plan.transport is not None and isinstance(plan.transport.asked, Asked):
        _of_lorries(facts, practice)


def _of_use(plan: Plan, practice: Practice) -> None:
    """Of the room, of restarts and of vessels that sweat."""
    facts = plan.facts
    site = facts.order.site
    if plan.indoors is not None and (site.room is UNSET or site.room.outdoor_temperature is UNSET):
        air = plan.indoors.incoming
        practice("cooler_outside", "The air that comes into the room is cooler than the air to plan for.", air)
    if plan.restart is not None:
        practice(
            "buffer_in_the_supply", "Buffer vessels stand in the supply, between the machines and the load.", "supply"
        )
    if plan.fill.buffers:
        practice("shape_of_vessels", "Vessels are upright cylinders, so many times as high as wide.", 2)
    damp = plan.condensation
    stated = site.dew_point_temperature is not UNSET or site.relative_humidity_fraction is not UNSET
    if isinstance(damp, Asked) and not stated:
        air = damp.results.dew_point_temperature
        practice("muggy_day", "The dew point of the air is that of a muggy day.", air)


def _of_liquid(facts: Facts, practice: Practice) -> None:
    coldest, frost = Temperature.from_si(COLDEST_WATER, "degC"), Temperature.from_si(FROST, "degC")
    practice(
        "plain_water",
        say(
            "Water leaving below {coldest}, or standing in air below {frost}, gets antifreeze.",
            coldest=coldest,
            frost=frost,
        ),
        coldest,
    )
    duty = facts.order.duty
    if duty.temperature_difference is UNSET and duty.liquid_flow is UNSET:
        practice("usual_difference", "Liquid enters the machines 10 degF warmer than it leaves.", USUAL_DIFFERENCE)


def _of_mixture(plan: Plan, notes: Notes) -> None:
    if plan.liquid.is_water:
        return
    notes.assume(
        "flow_as_cold_as_it_runs",
        say(
            "Flow and difference are those of the mixture between leaving and entering. `refrigeration.load` alone counts its "
            "flow at {counted}, where a mixture carries more.",
            counted=Temperature(10, "degC"),
        ),
        value=plan.facts.order.duty.leaving_temperature,
        basis="derived",
    )


def _of_hose(facts: Facts, loop: LoopPlan, practice: Practice) -> None:
    practice("hose_wall", "Outside over inside diameter of the hose.", HOSE_WALL_RATIO)
    if not facts.indoors:
        practice("sun_on_hose", "The sun shines on the hose.", SUMMER_SUN)
    if not loop.hose.in_stock:
        usual = [Length(bore, "mm") for bore in USUAL_BORES]
        practice("usual_hose", "The stock has no hose: the usual sizes are tried.", usual)
    if loop.pipework.near:
        practice(
            "loss_of_headers",
            "Loss coefficient of each branch of a header, from memory; hoses from header to machine are one section each.",
            TEE,
        )
    practice(
        "one_nominal_size", "Bores that differ by no more than this fraction count as one nominal size.", SAME_BORE
    )


def _of_supply(facts: Facts, supply: SupplyPlan | Unanswered | None, practice: Practice) -> None:
    if facts.order.supply.fault_current is not UNSET and facts.order.supply.source == "site":
        practice("source_angle", "X/R of the site's supply.", SOURCE_ANGLE)
    if isinstance(supply, SupplyPlan) and supply.generator is not None and supply.generator_row is None:
        practice(
            "sets_elsewhere",
            "No set of the stock holds: usual sizes are tried, from the first of these to the second.",
            [Power(MARKET_SETS[0], "kW"), Power(MARKET_SETS[-1], "kW")],
        )
    practice("device_before_cable", "The device before each cable is the greatest that the plate allows.", "plate")
    practice(
        "starts_one_by_one", "On a generating set pumps start first, then fans, then compressors singly.", "singly"
    )


def _of_arrival(plan: Plan, practice: Practice) -> None:
    units = sum(p.count for p in plan.combination)
    if units > 1:
        practice(
            "machines_set_up_in_turn",
            f"One crew places and connects the {units} machines one after the other, each in the time of one; every other "
            "step is that of one machine, or passes for all at once.",
            units,
        )
    paces = [Length(rate, "m") for rate in (*(r for _, r in HOSE_RATES), WIDEST_RATE, SINGLE_RATE, CORD_RATE)]
    practice(
        "laying_by_length",
        say(
            "Two people lay or take up in a minute: {narrow} of hose up to {first} bore, {middle} up to {second}, {wide} of "
            "wider; {single} of single conductors; {cord} of cords and bundles.",
            first=HOSE_RATES[0][0],
            second=HOSE_RATES[1][0],
            **dict(zip(("narrow", "middle", "wide", "single", "cord"), paces, strict=True)),
        ),
        paces,
    )
    practice(
        "hands",
        "People at a step: three set down and lift, two lay, take up, connect hose and tie down, one does any other step.",
        HANDS["place_machine"],
    )
    band = PressureDifference.of(PRESSURE_BAND, "kPa")
    practice("fill_pressure_band", "What the loop may stand above the least fill pressure.", band)
    if plan.antifreeze is not None:
        charging = VolumeFlow.of(DRUM_PUMP, "L/s")
        practice("antifreeze_charging", "A drum pump charges antifreeze, after 10 min to set it up.", charging)


def _of_site(site: SitePlan, practice: Practice) -> None:
    if site.set_heard:
        practice("height_of_set", "The sound of the generating set is taken from the middle of it.", MIDDLE_OF_SET)


def _of_lorries(facts: Facts, practice: Practice) -> None:
    for deck in VEHICLES[facts.rules]:
        practice(
            deck.id.replace(" ", "_").replace("-", "_"),
            say(
                "A {name} has a deck of {length} by {width}, {height} high, for this load.",
                name=deck.id,
                length=deck.deck_length,
                width=deck.deck_width,
                height=deck.deck_height,
            ),
            deck.payload,
        )
    practice(
        "pallets",
        say(
            "Hoses, cables and drums go on pallets of {length} by {width} of their own, all other small gear together, each "
            "of at most this mass. Fuel comes with its own tanker.",
            length=PALLET[0],
            width=PALLET[1],
        ),
        MOST_ON_PALLET,
    )
