"""Open questions that only show once the plan is drawn."""

from msgspec import UNSET

from coldwright.contract import say
from coldwright.contract.quantities import Current, Length
from coldwright.contract.sentences import Words
from coldwright_basis.compare import whole_at_least
from coldwright_basis.trade_words import word
from coldwright_booking.answer.in_use_questions import ask_in_use
from coldwright_booking.order.facts import Facts
from coldwright_booking.order.questions import OpenQuestion, Questions
from coldwright_booking.plan.desk import Asked
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.plan import Plan
from coldwright_booking.plan.site import RUNNER
from coldwright_booking.plan.supply import SupplyPlan


def open_questions(plan: Plan) -> tuple[OpenQuestion, ...]:
    """What the order leaves open, and what the plan shows to be unknown; those that could turn the outcome first."""
    facts, questions = plan.facts, Questions(plan.facts.open)
    _duty(facts, plan, questions)
    _site(facts, plan, questions)
    _supports(plan, questions)
    _supply(facts, plan, questions)
    _load_side(facts, plan, questions)
    _machines(facts, plan, questions)
    _carried(facts, plan, questions)
    ask_in_use(facts, plan, questions)
    return questions.listed()


def _duty(facts: Facts, plan: Plan, questions: Questions) -> None:
    order = facts.order
    if order.duty.temperature_difference is UNSET and order.duty.liquid_flow is UNSET:
        questions.ask(
            "/duty/temperature_difference",
            plan.load.difference,
            say("The flow, here {flow}, and with it hose, pump and evaporators.", flow=plan.load.flow),
            "customer",
        )
    if order.fluid is UNSET and not plan.liquid.is_water:
        questions.ask(
            "/fluid/kind",
            plan.liquid.fluid.kind.replace("_", " "),
            "Flow, pressure drop and capacity; what may touch food or drain away here.",
            "customer",
        )


def _site(facts: Facts, plan: Plan, questions: Questions) -> None:
    site = facts.order.site
    if facts.lowest_ambient is None and not facts.indoors:
        questions.ask(
            "/site/lowest_ambient_temperature",
            "no frost" if plan.liquid.is_water else "no colder than the liquid runs",
            "Freeze damage: whether plain water will do, and how strong antifreeze must be.",
            "customer",
            decides=True,
        )
    if site.ground is UNSET:
        questions.ask(
            "/site/ground", "clay, the weakest class that needs no engineer", "Mats below machines.", "customer"
        )
    elif site.ground.soil_class is UNSET and site.ground.allowable_bearing_pressure is UNSET:
        questions.ask(
            "/site/ground/soil_class", "clay, the weakest class that needs no engineer", "Mats below machines.",
            "customer",
        )  # fmt: skip
    if site.ground is not UNSET and site.ground.slope is UNSET:
        questions.ask("/site/ground/slope", "level", "Whether machines stand firm, and drain.", "customer")
    if site.area is UNSET and isinstance(plan.layout, Asked) and plan.layout.results.least_area is not UNSET:
        least = plan.layout.results.least_area
        questions.ask(
            "/site/area",
            say(
                "a clear rectangle of {length} by {width} between walls",
                length=_to_cm(least.length),
                width=_to_cm(least.width),
            ),
            "Where machines stand, the air they draw, and the ways of hose and cable.",
            "customer",
        )
    if not site.sound_limits and not facts.indoors:
        questions.ask("/site/sound_limits", "no limit", "Place, barriers and running at night.", "customer")
    if facts.lift == "crane" and facts.order.access.radius is UNSET:
        questions.ask(
            "/access/radius", "within the crane's chart", "Which crane, and whether it lifts.", "crane_company"
        )
    if not facts.order.access.surface:
        questions.ask("/access/surface", "firm and level", "Way of vehicles, crane and machines.", "customer")


def _to_cm(length: Length) -> Length:
    """The next centimetre."""
    return Length.of(whole_at_least(100 * length.to("m")) / 100, "m")


def _supports(plan: Plan, questions: Questions) -> None:
    for picked in plan.combination:
        body, at = picked.machine.body, f"/fleet/machines/{picked.candidate.place}/body"
        if body.intake_faces is UNSET or body.service_faces is UNSET:
            questions.ask(
                f"{at}/intake_faces" if body.intake_faces is UNSET else f"{at}/service_faces",
                "air at both long sides, the panel at the front end",
                f"How near {picked.machine.type} may stand to walls and to another machine.",
                "hire_company",
            )
        support = picked.machine.body.support
        if support is UNSET or (support.kind == "skid" and support.runner_width is UNSET):
            questions.ask(
                f"/fleet/machines/{picked.candidate.place}/body/support",
                say("a skid on two runners of {width} along its length", width=RUNNER),
                "Pressure on the ground, and mats: feet and wheels press harder.",
                "hire_company",
            )


def _supply(facts: Facts, plan: Plan, questions: Questions) -> None:
    stated = facts.order.supply
    if not isinstance(plan.supply, SupplyPlan):
        return
    if stated.source == "unknown":
        questions.ask(
            "/supply/source", "a supply that is strong enough", "Whether a generator must come along.", "customer",
            decides=True,
        )  # fmt: skip
    if stated.voltage is UNSET:
        hired = stated.source == "generator"
        questions.ask(
            "/supply/voltage",
            plan.supply.voltage,
            "Voltage that the set is switched to." if hired else "Which machines suit without a transformer.",
            facts.who_feeds,
            decides=stated.source == "site",
        )
    if stated.source == "generator" and stated.starting_dip_limit_fraction is UNSET:
        questions.ask(
            "/supply/starting_dip_limit_fraction",
            f"{facts.dip_limit:.2f}",
            "Size of the generating set, and whether controls drop out at a start.",
            "hire_company",
        )
    if stated.source != "site":
        return
    if stated.breaker_rating is UNSET and stated.available_current is UNSET:
        needed = plan.supply.service.results.feeder.minimum_circuit_ampacity
        questions.ask(
            "/supply/breaker_rating", say("enough for {needed}", needed=needed), "Whether the site can feed the machines at all.",
            "site_electrician", decides=True,
        )  # fmt: skip
    if stated.fault_current is UNSET:
        questions.ask(
            "/supply/fault_current",
            "not above any rating",
            "Whether machines and devices withstand a fault.",
            "site_electrician",
            decides=True,
        )


def _load_side(facts: Facts, plan: Plan, questions: Questions) -> None:
    side = facts.order.load_side
    if side.rated_flow is UNSET:
        flow: Words = say(": {flow}", flow=plan.loop.wanted) if isinstance(plan.loop, LoopPlan) else ""
        questions.ask(
            "/load_side/rated_flow",
            say("its drop of {drop} at the design flow{flow}", drop=facts.load_side_drop, flow=flow),
            "Whether the pump moves the flow, and the hose that is chosen: the drop goes with the square of the flow.",
            "site_mechanic",
            decides=True,
        )
    if side.fast_valve_closing_time is UNSET:
        questions.ask(
            "/load_side/fast_valve_closing_time", "no fast valve", "Surge in the hose when it shuts.", "site_mechanic"
        )
    if facts.order.site.tap_pressure is UNSET:
        questions.ask(
            "/site/tap_pressure",
            "too low to fill the loop, so that a booster pump comes along",
            "Whether the tap fills the loop to its pressure.",
            "site_mechanic",
        )
    if side.volume is UNSET:
        questions.ask(
            "/load_side/volume",
            plan.fill.load_side,
            "Antifreeze, buffer, expansion vessel and time to fill.",
            "site_mechanic",
        )
    if side.connection is UNSET:
        questions.ask("/load_side/connection", "as the hose", "Reducers and adaptors.", "site_mechanic")


def _machines(facts: Facts, plan: Plan, questions: Questions) -> None:
    for picked in plan.combination:
        machine, place = picked.machine, picked.candidate.place
        at = f"/fleet/machines/{place}"
        if machine.electrical.short_circuit_rating is UNSET:
            questions.ask(
                f"{at}/electrical/short_circuit_rating",
                Current(5, "kA"),
                f"Whether {machine.type} withstands a fault here.",
                "maker",
                decides=True,
            )
        if machine.body.centre_of_gravity is UNSET or not machine.body.lifting_points:
            questions.ask(
                f"{at}/body/lifting_points", "as usual", f"Slings and balance of {machine.type}.", "hire_company"
            )
        if not machine.electrical.motors:
            questions.ask(
                f"{at}/electrical/motors",
                "running current of the plate's ampacity over 1.25",
                f"Starting of {machine.type} on generator and cable.",
                "hire_company",
                decides=facts.order.supply.source == "generator",
            )
    duty, supply = facts.order.duty, facts.order.supply
    priced = plan.cost is not None and isinstance(plan.cost.energy, Asked)
    if priced and duty.average_load_fraction is UNSET:
        used = "Fuel to order and energy" if supply.source == "generator" else "Energy"
        effect = f"{used} of the whole period, its cost and its carbon dioxide."
        questions.ask("/duty/average_load_fraction", "1, full load day and night", effect, "customer")
    if facts.order.preferences == "lowest_cost" and (unpriced := plan.machines.unpriced) is not None:
        questions.ask(
            f"/fleet/machines/{unpriced.place}/hire_rate",
            "fewest machines instead",
            "Which combination is the cheapest.",
            "hire_company",
        )


def _carried(facts: Facts, plan: Plan, questions: Questions) -> None:
    """Masses of what goes on the vehicles, the set's size, and what takes pallets off."""
    if plan.transport is None or not isinstance(plan.transport.asked, Asked):
        return
    asked = plan.transport.asked
    each = {item.id: item.mass for item in asked.given.items}
    elsewhere = []
    for load in plan.transport.loads:
        if load.place is None:
            elsewhere.append(load.line.item)
            continue
        at = f"/fleet/accessories/{load.place}"
        if load.row.mass is UNSET:
            questions.ask(
                f"{at}/mass",
                each.get(load.row.item, "what is usual for its kind"),
                f"Vehicles, and what takes {load.row.item} off.",
                "hire_company",
            )
        if load.line.kind == "generator" and load.row.size is UNSET:
            questions.ask(
                f"{at}/size", "what is usual for its rating", "Vehicles, and the place of the set.", "hire_company"
            )
    if elsewhere:
        questions.ask(
            "/fleet/accessories",
            "what is usual for its kind",
            f"Masses and sizes on the vehicles of what the fleet does not list: {', '.join(dict.fromkeys(elsewhere))}.",
            "hire_company",
        )
    if not facts.order.access.unloading:
        practice = facts.order.practice
        means = {
            word("fork_truck", practice) if item.unload == "fork_truck" else item.unload.replace("_", " ")
            for item in asked.given.items
        }
        questions.ask(
            "/access/unloading",
            " and ".join(sorted(means)),
            "What takes pallets and pieces off the vehicles.",
            "customer",
        )
