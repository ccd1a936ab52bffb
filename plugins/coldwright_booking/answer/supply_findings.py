"""What the plan says of its supply: transformer, generating set, panel."""

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, say
from coldwright.contract.people import count_of
from coldwright.contract.quantities import Current, Duration
from coldwright_basis.compare import above, below
from coldwright_basis.trade_words import word
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.cable import ADDED_RESIDUAL_CURRENT, MachineCable
from coldwright_booking.plan.desk import Asked
from coldwright_booking.plan.generating_set import SetPlan
from coldwright_booking.plan.plan import Plan
from coldwright_booking.plan.supply import SupplyPlan
from coldwright_electrical.fault_current.given import FaultCurrentGiven
from coldwright_electrical.fault_current.results import FaultCurrentResults

DAY_SHIFT = 12.0
"""Hours between two fillings below which one of them falls into the night."""


def report_supply(facts: Facts, plan: Plan, notes: Notes) -> None:
    """Everything about it."""
    choice = plan.machines.choice
    if choice is not None and plan.combination and choice.needs_transformer:
        voltage = plan.supply.voltage if isinstance(plan.supply, SupplyPlan) else f"{choice.voltage:g} V"
        notes.check(
            "transformer_between",
            f"The machines that suit need {voltage}; the supply has {facts.order.supply.voltage}.",
            resolve="Take the transformer of the pick list, or machines of the supply's voltage.",
            field="/supply/voltage",
        )
    if isinstance(plan.supply, SupplyPlan):
        if plan.supply.set is not None:
            _set(facts, plan.supply.set, _bank_item(plan), notes)
            _plates(plan.supply, notes)
        _primary(facts, plan.supply, notes)
        _panel(plan.supply, notes)
        _breaker_before_panel(facts, plan.supply, notes)
        _set_breaker(plan, notes)
    for cable in plan.cable.machines if plan.cable else ():
        _earth_fault(facts, cable, notes)


def _bank_item(plan: Plan) -> str:
    return next((p.item for p in plan.picking.lines if "load bank" in p.item.casefold()), "load bank")


def _set(facts: Facts, chosen: SetPlan, bank_item: str, notes: Notes) -> None:
    """What a set needs beside its load: something to do at night, and fuel."""
    alone, stated = chosen.alone, chosen.asked
    if isinstance(alone, Asked) and alone.results.reduced_load_fraction is not UNSET:
        low, least = alone.results.reduced_load_fraction, alone.given.minimum_load_fraction
        if below(low, least):
            bank = chosen.load_bank
            notes.check(
                "light_load",
                say(
                    "Set too lightly loaded at the least load: {low:.0%} of its derated power; {least:.0%} is the least to run "
                    "on for hours.",
                    low=low,
                    least=least,
                ),
                why="A diesel engine that runs so for hours leaves unburnt fuel in its exhaust.",
                resolve="Connect a load bank, or send a smaller set."
                if bank is None
                else say("Connect the {item}, set to {bank}, or send a smaller set.", item=bank_item, bank=bank),
                field="/duty/lowest_load_fraction",
            )
    if not isinstance(stated, Asked) or stated.results.time_per_fill is UNSET:
        return
    filling, hours = stated.results.time_per_fill, Duration(24.0 * facts.days, "h")
    if below(filling.si, hours.si):
        interval = stated.results.refuel_interval
        every = filling if interval is UNSET else interval
        notes.check(
            "refuelling_rota",
            say(
                "A full tank lasts {filling} and the set runs for {hours}: refill it every {every}, {times:.2g} times a "
                "day, at night too.",
                filling=filling,
                hours=hours,
                every=every,
                times=24 / every.to("h"),
            )
            if every.to("h") < DAY_SHIFT
            else say(
                "A full tank lasts {filling} and the set runs for {hours}: refill it every {every}.",
                filling=filling,
                hours=hours,
                every=every,
            ),
            why="A set that runs dry stops the cooling, and the oil heat of the machines starts anew.",
            resolve="Agree on a rota with names and hours, or set a second tank beside the set.",
            field="/supply/source",
        )


def _plates(supply: SupplyPlan, notes: Notes) -> None:
    """A set that carries the design point alone: it is short while warm liquid is pulled down."""
    machines, stated = supply.service.results, supply.generator
    if not isinstance(stated, Asked) or not supply.set_below_plates:
        return
    notes.stop(
        "set_below_plates",
        say(
            "By their plates the machines run on up to {real:.4g} and {apparent:.4g}; the set carries {has:.4g} and "
            "{carries:.4g}. At the design point they draw {drawn:.4g}.",
            real=machines.active_power,
            apparent=machines.apparent_power,
            has=stated.results.derated_active_power,
            carries=stated.results.derated_apparent_power,
            drawn=stated.results.running_active_power,
        ),
        why="While warm liquid is pulled down they draw more than at the design point: engine or alternator gives way.",
        resolve=say(
            "A set that carries {real:.4g} and {apparent:.4g} on this site and starts them, or two supplies.",
            real=machines.active_power,
            apparent=machines.apparent_power,
        ),
        field="/supply/source",
    )


def _primary(facts: Facts, supply: SupplyPlan, notes: Notes) -> None:
    """What the site must feed where a transformer stands between: the circuit of the machines says nothing of that."""
    if short := supply.primary_shortage:
        notes.stop(
            "primary_supply_short",
            short,
            why="The breaker opens at full load, or the supply gives way.",
            resolve="Ask for a larger circuit, or take fewer machines, machines of the site's voltage, or a generating set.",
            field="/supply",
        )
    rating = facts.order.supply.breaker_rating
    if supply.primary_current is None or rating is UNSET or not isinstance(supply.transformer, Asked):
        return
    limit = supply.transformer.results.primary_device_maximum_standard
    if limit is not UNSET and above(rating.si, limit.si):
        notes.check(
            "primary_device_needed",
            f"The site's breaker of {rating} is above the {limit} that this transformer may have before it.",
            why="An overload or a fault inside the transformer would last too long.",
            resolve=f"Fit a fused switch or breaker of at most {limit} before the transformer.",
            field="/supply/breaker_rating",
        )


def _panel(supply: SupplyPlan, notes: Notes) -> None:
    wanted, row = supply.panel, supply.panel_row
    if wanted is not None and row is not None and (row.rated_current is UNSET or row.outlets is UNSET):
        notes.check(
            "panel_not_known",
            f"Panel {row.item} was not compared with the feeder: its rating or its outlets are not given. Needed: "
            f"{wanted.current:g} A and {count_of(wanted.outlets, 'outlet')}.",
            resolve="Give its rated current and its outlets in the fleet document.",
            field="/fleet/accessories",
        )


def _breaker_before_panel(facts: Facts, supply: SupplyPlan, notes: Notes) -> None:
    """A panel that stands behind a breaker above its rating is not protected by it."""
    wanted, row, breaker = supply.panel, supply.panel_row, facts.order.supply.breaker_rating
    if wanted is None or isinstance(breaker, UnsetType) or supply.transformer is not None or supply.set is not None:
        return
    if row is not None and row.rated_current is UNSET:
        return
    rated = Current.of(wanted.current, "A") if row is None or row.rated_current is UNSET else row.rated_current
    if above(breaker.si, rated.si):
        notes.check(
            "panel_behind_larger_breaker",
            say(
                "The panel of {rated} hangs behind the site's breaker of {breaker}.",
                rated=rated,
                breaker=breaker,
            ),
            why="The breaker lets more through for hours than the bars of the panel carry.",
            do=say(
                "Take a panel with a main breaker of at most {rated}, have the site's breaker set to that, or take a panel of "
                "at least {breaker}.",
                rated=rated,
                breaker=breaker,
            ),
            cleared_by="the electrician",
            field="/supply/breaker_rating",
            references=("panel_protection",),
        )


def _set_breaker(plan: Plan, notes: Notes) -> None:
    """Without a panel the breaker of the set alone stands before the cable, and its setting is not known. Where the plate
    limits it, the technician reads it beside the plate.
    """
    supply = plan.supply
    if not isinstance(supply, SupplyPlan) or supply.set is None or supply.panel is not None or plan.cable is None:
        return
    for cable, circuit in zip(plan.cable.machines, supply.service.results.machines, strict=True):
        if isinstance(cable.asked, Asked) and circuit.maximum_overcurrent_standard is UNSET:
            _to_be_set(cable.picked.machine.type, cable.asked.given.overcurrent_device, notes)


def _to_be_set(machine: str, sized_for: Current, notes: Notes) -> None:
    notes.check(
        "set_breaker_to_be_set",
        say(
            "The set's breaker protects the cable of {machine}, sized for {device}.",
            machine=machine,
            device=sized_for,
        ),
        why="A set is larger than its load: as it comes its breaker may let more through for hours than the cable carries.",
        do=say(
            "Have it set to at most {device}, or take a panel with such a breaker.",
            device=sized_for,
        ),
        cleared_by="the electrician",
        field="/fleet/generators",
        references=("panel_protection",),
    )


def _sums_of(asked: Asked[FaultCurrentGiven, FaultCurrentResults]) -> Notes:
    """How its figures were worked out, and nothing else of what it says."""
    sums = Notes({})
    sums.working = asked.notes.working
    return sums


def _earth_fault(facts: Facts, cable: MachineCable, notes: Notes) -> None:
    """A breaker that no cable of the plan gives enough current on an earth fault."""
    alone = cable.breaker_needs
    if alone is None or alone.results.earth_fault_current is UNSET or alone.results.required_operating_current is UNSET:
        return
    fault = word("earth_fault", facts.order.practice)
    notes.adopt(_sums_of(alone), alone.calculator)
    notes.check(
        "residual_current_device_needed",
        say(
            "The breaker of {machine} needs {required:.4g} to open at once; {article} {fault} at the machine gives {current:.4g}. "
            "A {device} of {rated} is on the pick list.",
            machine=cable.picked.machine.type,
            required=alone.results.required_operating_current,
            article="an" if fault.startswith("e") else "a",
            fault=fault,
            current=alone.results.earth_fault_current,
            device=word("residual_current_device", facts.order.practice),
            rated=ADDED_RESIDUAL_CURRENT,
        ),
        why="Until it clears, everything bonded to the machine may stay live.",
        do=f"Fit the device, of a type that suits the drives of the machine, and test it before the start. Without it: a larger "
        f"{word('protective_conductor', facts.order.practice)}, a shorter run or a lower magnetic setting. If set or panel "
        "have one, give its `residual_current`.",
        cleared_by="the electrician",
        field="/supply/residual_current",
        references=("booking_practice",),
    )
