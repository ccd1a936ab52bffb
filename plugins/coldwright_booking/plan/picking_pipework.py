"""Lines of the pick list for hose, headers, joints and what stands in the loop."""

from math import ceil

from coldwright.contract import say
from coldwright.contract.people import count_of
from coldwright_booking.fleet import given as stock
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.joints import Joints
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.machines import Combination
from coldwright_booking.plan.pick_list import PickList
from coldwright_booking.words import both

RAMPS_A_CROSSING = 5
"""Pieces of ramp of 0.9 m across a way of 4 m, as `electrical.feeder` counts them for cable."""
CAPS_A_HOSE = 2
"""Blanking caps, as `site.transport` counts them."""
JOINTS_A_SPARE = 5
"""Joints for each spare gasket, as `site.transport` counts them."""
BY = "hydronic.loop"


def pick_hose(made: PickList, facts: Facts, combination: Combination, loop: LoopPlan, joints: Joints) -> None:
    """Hose first, then what joins it, then valves, strainers, restraints and ramps."""
    hose, runs, units, work = loop.hose, loop.runs, combination.units, joints.pipework
    one_way = facts.order.routes.hose_length
    sections = hose.pieces_for(one_way, runs)
    made.add(
        hose.item,
        "hose",
        sections,
        say(
            "Supply and return of {one_way}, {runs} in parallel, in sections of {section}.",
            one_way=one_way,
            runs=runs,
            section=hose.section,
        ),
        BY,
        "supply and return",
    )
    for between in work.hoses:
        reason = say(
            "Two for each {machine}, from header to machine, of {section}.",
            machine=between.picked.machine.type,
            section=between.hose.section,
        )
        made.add(between.hose.item, "hose", between.pieces, reason, BY, "header to machine")
    follows, at_vessels = "From each buffer vessel to what follows it in the supply.", work.vessel_hoses(runs)
    made.add(hose.item, "hose", at_vessels, follows, BY, "buffer vessel")
    laid = sections + at_vessels + sum(h.pieces for h in work.hoses)
    made.gear(
        "blanking cap",
        "blanking cap",
        CAPS_A_HOSE * laid,
        "Both ends of every hose, while it is carried and until it is joined.",
        "site.transport",
        "open ends of hose",
    )
    _joints(made, loop, joints, units)
    if loop.balancing_kv is not None:
        setting = f"Balancing valve, set to Kv {loop.balancing_kv:.3g} at the discharge."
        made.any_of(stock.StockValve, "valve", 1, setting, BY, "balancing")
    if loop.mixed:
        share = "One at the discharge of each machine, to set its share of the flow."
        made.any_of(stock.StockValve, "valve", units, share, BY, "balancing of each machine")
    if work.near:
        shut = "To shut each machine off from the others."
        made.any_of(stock.StockValve, "valve", 2 * units, shut, BY, "shut-off of each machine")
    joined = sections + 2 * runs + 2 * at_vessels + sum(2 * h.pieces for h in work.hoses)
    made.any_of(
        stock.WhipCheck, "whip_check", joined, "One at every hose joint.", BY, "hose joints", plain="hose restraint"
    )
    made.any_of(stock.Strainer, "strainer", units, "Before every evaporator.", "readiness.procedure", "evaporators")
    ramps = facts.order.routes.crossings * RAMPS_A_CROSSING * 2 * runs
    made.any_of(stock.Ramp, "ramp", ramps, "Over the hose where traffic crosses.", BY, "hose")
    made.add("spare gasket", "other", ceil(joined / JOINTS_A_SPARE), "One for every five joints.", "site.transport")


def _joints(made: PickList, loop: LoopPlan, joints: Joints, units: int) -> None:
    """Couplings, headers, adaptors and reducers."""
    runs, work = loop.runs, joints.pipework
    ends = 2 * units + 2 * runs + (2 * units + 2 * runs if work.near else 0) + 2 * work.vessel_hoses(runs)
    places = "at the machines and at the load side"
    places += ", at both ends of every hose from a header" if work.near else ""
    places += ", at buffer vessels" if work.vessels else ""
    made.any_of(stock.Coupling, "coupling", ends, f"Ends {places}.", BY)
    item, bore = joints.header_item, both(loop.hose.bore.as_unit("mm"))
    if work.near:
        made.add(
            item or f"header, {count_of(units, 'machine')} and {count_of(runs, 'run')} of {bore}",
            "other",
            work.near,
            f"Join {count_of(units, 'machine')} and {count_of(runs, 'run')} at the machines, supply and return apart.",
            BY,
        )
    if work.far:
        made.add(
            item or f"header, 1 load and {runs} runs of {bore}",
            "other",
            work.far,
            f"Join {runs} runs at the load, supply and return apart.",
            BY,
        )
    for unlike in joints.unlike:
        made.add(
            unlike.item or f"adaptor, {unlike.hose} to {unlike.other}",
            unlike.kind or "other",
            unlike.count,
            f"Hose, {unlike.hose}, to {unlike.where}, {unlike.other}.",
            BY,
            f"to {unlike.where}",
        )
    made.any_of(stock.Reducer, "reducer", joints.reducers, "From hose to connections of another bore.", BY)
