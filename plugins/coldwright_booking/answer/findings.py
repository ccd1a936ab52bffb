"""What the plan itself has to say, beside what the calculators say."""

from collections.abc import Iterator

from msgspec import UNSET

from coldwright.contract import Notes, Sentence, joined, say
from coldwright.contract.quantities import Temperature, TemperatureDifference, Volume
from coldwright.contract.sentences import Words, in_both
from coldwright_booking.answer.cost_findings import report_cost
from coldwright_booking.answer.entering_findings import report_entering
from coldwright_booking.answer.in_use_questions import report_room, report_rules
from coldwright_booking.answer.lift_findings import report_lift
from coldwright_booking.answer.limits import excess
from coldwright_booking.answer.relief_findings import report_relief
from coldwright_booking.answer.removal_findings import report_removal
from coldwright_booking.answer.results import NearLimit
from coldwright_booking.answer.supply_findings import report_supply
from coldwright_booking.order.facts import FROST, Facts
from coldwright_booking.order.questions import OpenQuestion
from coldwright_booking.plan.desk import Asked
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.pipework import AT_VESSELS
from coldwright_booking.plan.plan import Plan
from coldwright_booking.plan.supply import SupplyPlan

THIN = 0.05
"""Headroom below which somebody must look."""

MOST_LISTED = 8
"""Combinations that failed, listed with their reason."""


def report(plan: Plan, notes: Notes, limits: tuple[NearLimit, ...], questions: tuple[OpenQuestion, ...]) -> None:
    """Everything, worst first."""
    facts = plan.facts
    _machines(facts, plan, notes)
    _method(plan, notes)
    _fluid(facts, plan, notes)
    _loop(plan, notes)
    _buffer(plan, notes)
    report_relief(plan, notes)
    report_supply(facts, plan, notes)
    _site(facts, plan, notes)
    report_entering(facts, plan, notes)
    report_removal(facts, plan, notes)
    _stock(facts, plan, notes)
    report_cost(plan, notes)
    _headroom(limits, notes)
    deciding = [q.field for q in questions if q.decides]
    if deciding:
        notes.check(
            "open_questions_decide",
            f"The answers to {', '.join(f'`{field}`' for field in deciding)} could turn this plan.",
            resolve="Ask whoever is named beside each of these open questions.",
            field=deciding[0],
        )


def _machines(facts: Facts, plan: Plan, notes: Notes) -> None:
    chosen = plan.machines
    if chosen.refused is not None:
        return
    if not chosen.candidates or chosen.choice is None:
        reasons = joined([_because(o.machine.type, o.reason) for o in chosen.left_out[:6]])
        notes.stop(
            "no_machine_suits",
            say(
                "None of the {count} types can be used here. {reasons}",
                count=len(facts.fleet.machines),
                reasons=reasons,
            ),
            resolve="Other machines, or milder conditions.",
            field="/fleet/machines",
        )
        for out in chosen.left_out:
            if out.asked is not None:
                notes.adopt(out.asked.notes, out.asked.calculator)
        return
    _passed_over(plan, notes)
    if plan.swings:
        notes.stop(
            "plan_does_not_settle",
            say(
                "The load does not settle in {rounds} rounds: {tried}.",
                rounds=plan.rounds,
                tried=joined([say("{round}", round=swing) for swing in plan.swings[-4:]]),
            ),
            why="The heat of pump and hose changes with the machines, and the machines with the heat.",
            resolve="Fix the machines with `machine_types`, or the flow.",
            field="/duty",
        )
    if "turndown" in chosen.choice.dropped:
        added = "".join(f"; {b.count} x {b.item} added" for b in plan.fill.buffers)
        notes.check(
            "turndown_not_kept",
            "The machine will cycle at low load: no type of the fleet turns down to "
            f"{100 * facts.lowest_load:.3g} % of the load{added}.",
            why="Compressors that start too often wear, and the water temperature swings.",
            resolve="The buffer of the pick list is counted already: use hot-gas bypass, or a smaller machine."
            if plan.fill.buffers
            else "Add volume to the loop, or use hot-gas bypass.",
            field="/duty/lowest_load_fraction",
        )
    if {"flow_minimum", "flow_maximum"} & set(chosen.choice.dropped):
        notes.show("V", "Design flow", "load / (rho c dT)", plan.load.flow)
        notes.check(
            "flow_rule_not_kept",
            say(
                "No combination takes the design flow, {flow}, inside the limits of its evaporators.",
                flow=plan.load.flow,
            ),
            why="The loop is planned at the nearest flow inside those limits.",
            resolve="Another temperature difference, or a bypass at the machines.",
            field="/duty",
        )
    estimated = [p.machine.type for p in plan.combination if p.candidate.asked.results.source == "estimate"]
    if estimated:
        notes.check(
            "capacity_estimated",
            f"The capacity of {', '.join(estimated)} is estimated from its plate.",
            resolve="Give the machine's capacity table.",
            field="/fleet/machines",
        )


def _passed_over(plan: Plan, notes: Notes) -> None:
    """Combinations that were tried; the plan itself is the first of them where none can be carried out."""
    own = str(plan.combination)
    ruled_out: list[tuple[str, Words]] = [(str(r), r.why) for r in plan.facts.order.ruled_out]
    tried = [(str(c), why) for c, why in plan.passed_over]
    others = [*ruled_out, *(one for one in tried if one[0] != own)]
    if not others:
        return
    listed = "; ".join(
        f"{which}: {in_both(why).removesuffix('.')}" for which, why in others[:MOST_LISTED]
    )  # their figures stand elsewhere
    if len(others) > MOST_LISTED:
        listed += f"; and {len(others) - MOST_LISTED} more"
    if own in dict(tried):
        notes.note("every_plan_stops", f"Tried, also stopped: {listed}.")
    else:
        notes.note("first_choice_passed_over", f"Ruled out before this one: {listed}.")


def _because(which: str, why: Words) -> Sentence:
    return say("{which}: {why}", which=which, why=why)


def _method(plan: Plan, notes: Notes) -> None:
    for refusal in plan.unanswered:
        notes.stop(
            "outside_a_method",
            f"`{refusal.calculator}` refuses: {refusal.reason}",
            why="Outside the range of its method a calculator gives no number rather than a wrong one.",
            resolve="Change what it names.",
        )


def _fluid(facts: Facts, plan: Plan, notes: Notes) -> None:
    ordered = facts.order.fluid
    if plan.liquid.ordered_too_weak and ordered is not UNSET:
        coldest = facts.lowest_ambient
        weak = ordered.mass_fraction is not UNSET
        what = f"A mixture of {ordered.mass_fraction:g} by mass" if weak else "Plain water"
        notes.stop(
            "antifreeze_needed",
            say(
                "{what} is ordered for {leaving} leaving{cold}. The plan is drawn with {fluid} of {strength:.3f} by mass "
                "instead.",
                what=what,
                leaving=facts.order.duty.leaving_temperature,
                cold="" if coldest is None else say(" and air down to {air}", air=coldest),
                fluid=plan.liquid.fluid.kind.replace("_", " "),
                strength=plan.liquid.fluid.mass_fraction,
            ),
            why="Water that freezes bursts evaporators.",
            do="Order what the plan is drawn with, or leave it out and let the cold decide.",
            cleared_by="the customer",
            field="/fluid/mass_fraction" if weak else "/fluid/kind",
        )
    if plan.liquid.is_water and plan.liquid.frost_not_known:
        notes.check(
            "frost_not_known",
            say(
                "Plain water stands outdoors and the coldest air is not given: freeze damage if it gets below {frost}.",
                frost=Temperature.from_si(FROST, "degC"),
            ),
            do="Give `lowest_ambient_temperature`.",
            cleared_by="the customer",
            field="/site/lowest_ambient_temperature",
        )


def _loop(plan: Plan, notes: Notes) -> None:
    loop = plan.loop
    if not isinstance(loop, LoopPlan):
        return
    results = loop.asked.results
    if any(f.code == "device_flow_high" for f in loop.asked.notes.findings):
        notes.stop(
            "evaporator_flow_high",
            say("At {flow} an evaporator has more than its maximum flow.", flow=results.duty_flow),
            why="Tubes erode and the pump's motor is overloaded.",
            resolve="Throttle the discharge, or more machines in parallel.",
            field="/duty",
        )
    if loop.mixed:
        notes.check(
            "mixed_machines",
            say(
                "{machines} share one loop; it is worked out at the design flow, {flow}.",
                machines=str(plan.combination),
                flow=loop.wanted,
            ),
            why="Pumps and evaporators of unlike machines do not share a flow by themselves.",
            do="Balance each machine's flow with a valve at its discharge, and prove it.",
            cleared_by="the technician at the machine",
            field="/fleet/machines",
        )
    if loop.too_weak:
        notes.stop(
            "pump_head_short",
            say("The loop is too much for a pump: {weakness}.", weakness=loop.weakness),
            why="Against more head than a pump gives there is less flow through its machine, down to none.",
            resolve="More or wider hose, less drop at the load, the site's pump (`load_side.pump` `site`), or machines "
            "with stronger pumps.",
            field="/load_side/rated_pressure_drop",
        )
    _throttled(loop, notes)
    without = [p.machine.type for p in plan.combination if p.machine.pump is UNSET]
    if loop.mixed and not loop.site_pump and without:
        head: Words = "the head of the loop"
        if results.pump_head is not UNSET:
            head = say("{head} of head", head=results.pump_head)
        notes.check(
            "pump_head_not_known",
            say(
                "No pump aboard of {machines} is given: what gives their share of {flow} the {head} is not known.",
                machines=", ".join(without),
                flow=loop.wanted,
                head=head,
            ),
            resolve="Give the pump with its curve in the fleet, or name the site's pump.",
            field="/fleet/machines",
        )
    if not loop.own_pumps and (loop.site_pump or not loop.mixed):
        at_head: Words = "" if results.pump_head is UNSET else say(" at {head} of head", head=results.pump_head)
        notes.check(
            "site_pump_needed",
            say(
                "The site's pump must give {flow}{head} through hoses, machines and load.",
                flow=loop.wanted,
                head=at_head,
            ),
            why="Its curve is not in the order, so this was not checked.",
            do="Compare its curve with these numbers; a pump aboard stays bypassed.",
            cleared_by="the site's mechanic",
            field="/load_side/pump",
        )


def _throttled(loop: LoopPlan, notes: Notes) -> None:
    """What valves take of the head of unlike pumps; of like ones `hydronic.loop` says it."""
    pumps = loop.throttled
    if not pumps:
        return
    for pump in pumps:
        symbol, what = f"H_thr {pump.type}", f"Head that valves take from the pump of {pump.type}"
        notes.show(symbol, what, f"{pump.gives} - {pump.wanted}", pump.taken)
        if pump.slower is not None:
            notes.show(f"f {pump.type}", f"Frequency at which the pump of {pump.type} gives the head of the loop alone",
                       "r^2 H(Q/r) = H of the loop, solved for r", pump.slower)  # fmt: skip
    slower = [say("that of {type} to {f}", type=p.type, f=p.slower) for p in pumps if p.slower is not None]
    speed: Words = ""
    if slower:
        speed = say("Slow the pumps by their own drives, never by the supply: {each}; or: ", each=joined(slower, ", "))
    notes.check(
        "head_throttled",
        joined(
            [
                say(
                    "Of the {head} of head that the pump of {type} makes, valves take {taken}.",
                    head=pump.gives,
                    type=pump.type,
                    taken=pump.taken,
                )
                for pump in pumps
            ],
            " ",
        ),
        why="The pumps turn it into heat, which the machines must cool away, and a valve so far shut is loud and wears.",
        do=say("{speed}{take} smaller pumps.", speed=speed, take="take" if slower else "Take"),
        cleared_by="the planner of the loop",
        field="/fleet/machines",
        references=("booking_practice",),
    )


def _buffer(plan: Plan, notes: Notes) -> None:
    buffers = plan.fill.buffers
    if not buffers or not isinstance(plan.fill.asked, Asked):
        return
    filled = plan.fill.asked.results
    beside = {AT_VESSELS, *(b.item for b in buffers)}
    held = Volume.of(sum(e.volume.to("L") for e in filled.elements if e.name not in beside), "L")
    notes.show("V_own", "Liquid in the loop without buffer vessels and their hose", "its elements together", held)
    named = ", ".join(f"{b.count} x {b.item}" for b in buffers)
    notes.note(
        "buffer_added",
        say(
            "Without a buffer the loop holds {held} of the {least} that the control wants; with {named} and the hose to it, "
            "{total}.",
            held=held,
            least=filled.minimum_loop_volume,
            named=named,
            total=filled.total_volume,
        ),
        why="A loop that is too small makes compressors start and stop too often.",
        resolve="Give the load side's volume if it holds more.",
        field="/load_side/volume",
    )


def _site(facts: Facts, plan: Plan, notes: Notes) -> None:
    if not plan.combination:
        return
    report_room(plan, notes)
    report_rules(facts, plan, notes)
    report_lift(facts, plan, notes)
    _sound(facts, plan, notes)


def _sound(facts: Facts, plan: Plan, notes: Notes) -> None:
    if not facts.order.site.sound_limits:
        return
    unknown = [p.machine.type for p in plan.combination if p.machine.sound_power_level is UNSET]
    tested = "the limits of the site were not tested" if unknown else "the limits were tested without it"
    if isinstance(plan.supply, SupplyPlan) and isinstance(plan.supply.generator, Asked):
        row = plan.supply.generator_row
        if row is None or row.sound_power_level is UNSET:
            unknown.append("the generating set" if row is None else f"the generating set {row.item}")
    if unknown:
        notes.check(
            "sound_not_told",
            f"The sound power of {', '.join(unknown)} is not given, so {tested}.",
            why="Levels of all sources add up at each place.",
            resolve="Add `sound_power_level` to the fleet.",
            field="/site/sound_limits",
        )


def _stock(facts: Facts, plan: Plan, notes: Notes) -> None:
    if short := plan.picking.missing:
        notes.stop(
            "stock_short",
            f"Missing for the period: {', '.join(short)}.",
            resolve="Rent them elsewhere, or take another combination."
            if facts.order.practice == "nec"
            else "Hire them elsewhere, or take another combination.",
            field="/fleet/accessories",
        )
    foreign = [f"{line.count} x {line.item}" for line in plan.picking.lines if line.stock_short and not line.from_stock]
    if foreign:
        notes.check(
            "not_in_fleet",
            f"Not in the fleet document: {', '.join(foreign)}.",
            resolve="Add them to the fleet with their counts, or order them.",
            field="/fleet/accessories",
        )


def _headroom(limits: tuple[NearLimit, ...], notes: Notes) -> None:
    thin = [entry for entry in limits if entry.nearness < THIN]
    if thin:
        notes.check(
            "thin_headroom",
            joined(list(_how_near(thin)), " "),
            why="Data come from people and gauges and may be wrong by more.",
            resolve="Check the figures that these rest on, or plan with more room.",
        )


def _how_near(thin: list[NearLimit]) -> Iterator[Sentence]:
    over = [e for e in thin if e.nearness < 0 and e.value > e.limit]
    short = [e for e in thin if e.nearness < 0 and e.value <= e.limit]
    close = [e for e in thin if e.nearness >= 0]
    for heading, entries, words in (
        ("Over the limit", over, "{what} by {margin}"),
        ("Below the minimum", short, "{what} by {margin}"),
        ("Close to the limit", close, "{what} ({margin} left)"),
    ):
        if entries:
            listed = joined([say(words, what=e.what, margin=_margin(e)) for e in entries])
            yield say("{heading}: {listed}.", heading=heading, listed=listed)


def _margin(entry: NearLimit) -> Words:
    """How far from its limit, or how far beyond: a difference of temperature as a quantity."""
    if entry.headroom is UNSET or entry.headroom.unit != "K":
        return excess(entry)
    return say("{kelvins:.2g}", kelvins=TemperatureDifference(abs(entry.headroom.value), "delta_degC"))
