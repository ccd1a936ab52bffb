"""Lines of the pick list for cable, panel, generating set, fuel and transformer."""

from math import ceil

from msgspec import UNSET

from coldwright.contract import say
from coldwright.contract.people import count_of
from coldwright.contract.quantities import Power
from coldwright.contract.sentences import Words
from coldwright_basis.compare import at_least
from coldwright_basis.trade_words import word
from coldwright_booking.fleet import given as stock
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.cable import ADDED_RESIDUAL_CURRENT, CablePlan, item_of
from coldwright_booking.plan.desk import Asked
from coldwright_booking.plan.energy import Energy
from coldwright_booking.plan.pick_list import PickList
from coldwright_booking.plan.supply import SupplyPlan
from coldwright_booking.plan.voltages import suits


def pick_power(
    made: PickList, facts: Facts, supply: SupplyPlan, cable: CablePlan | None, energy: Energy | None
) -> None:
    """From the machines back to the source."""
    _cable(made, facts, cable)
    if wanted := supply.panel:
        panel = supply.panel_row
        outlets = count_of(wanted.outlets, "outlet")
        item = panel.item if panel else f"panel of {wanted.current:g} A with {outlets}"
        machines = f"each of {wanted.outlets} machines" if wanted.outlets > 1 else "the machine"
        reason = f"A device of its own for {machines}, {wanted.current:g} A together."
        made.add(item, "panel", 1, reason, "electrical.service", "device for each machine")
    if facts.order.supply.source == "generator" and isinstance(supply.generator, Asked):
        _set(made, facts, supply, energy)
    if isinstance(supply.transformer, Asked):
        rating = str(supply.transformer.results.rated_apparent_power)
        row = supply.transformer_row
        made.add(
            row.item if row else f"transformer of {rating}",
            "transformer",
            1,
            f"From {facts.order.supply.voltage} to {supply.voltage}.",
            "electrical.transformer",
        )


def _cable(made: PickList, facts: Facts, plan: CablePlan | None) -> None:
    by, fault = "electrical.feeder", word("earth_fault", facts.order.practice)
    article = "an" if fault.startswith("e") else "a"
    for cable in plan.machines if plan else ():
        if not isinstance(cable.asked, Asked):
            continue
        results, count = cable.asked.results, cable.picked.count
        each = cable.pieces
        size = f"{results.sets} x {results.conductor_size}"
        item = item_of(cable.row, results)
        reason = f"{size} for {count} x {cable.picked.machine.type}, {each} each."
        made.add(item, _kind(cable.row), each * count, reason, by, "machines")
        if cable.breaker_needs is not None:
            device = word("residual_current_device", facts.order.practice)
            made.gear(
                device,
                f"{device} of {ADDED_RESIDUAL_CURRENT}",
                count,
                f"Its breaker alone opens too late on {article} {fault} at the machine.",
                "electrical.fault_current",
                "one for the breaker of each machine",
            )
        ramps = results.pick_list.ramps * count
        made.any_of(stock.Ramp, "ramp", ramps, "Over the cable where traffic crosses.", by, "cable")
    for name, feed in plan.feeds if plan else ():
        if not isinstance(feed.asked, Asked):
            continue
        stated = feed.asked
        item = item_of(feed.row, stated.results)
        size = f"{stated.results.sets} x {stated.results.conductor_size}"
        over = say("Feed of the {name}, {size}, over {length}.", name=name, size=size, length=stated.given.length)
        made.add(item, _kind(feed.row), feed.pieces, over, by, f"feed of the {name}")


def _bank(made: PickList, wanted: Power, supply: SupplyPlan) -> None:
    """The smallest of the stock that adds as much at this voltage; else what any row calls a load bank; else hired."""
    by, setting = "electrical.generator", say("set to {wanted}", wanted=wanted)
    reason = say("Adds {wanted} while the load is low.", wanted=wanted)
    rows = [
        row
        for row in made.rows(stock.LoadBank)
        if isinstance(row, stock.LoadBank)
        and row.count > 0
        and at_least(row.rated_active_power.si, wanted.si)
        and (row.voltage is UNSET or suits(row.voltage.si, supply.voltage.si))
    ]
    if rows:
        smallest = min(rows, key=lambda row: (row.rated_active_power.si, row.item))
        made.add(smallest.item, "load_bank", 1, reason, by, setting)
    elif named := made.named("load bank", stock.OtherItem):
        made.add(named, "other", 1, reason, by, setting)
    else:
        made.bought(f"load bank of {wanted}", 1, reason, by, setting, "load_bank")


def _kind(row: object) -> str:
    return "cable_set" if isinstance(row, stock.CableSet) else "cable"


def _set(made: PickList, facts: Facts, supply: SupplyPlan, energy: Energy | None) -> None:
    assert isinstance(supply.generator, Asked)  # noqa: S101 - the caller has looked
    by, chosen = "electrical.generator", supply.generator.given.generator
    rating = "" if chosen is UNSET else f" of {chosen.rated_active_power}"
    item = supply.generator_row.item if supply.generator_row else f"generating set{rating}"
    made.add(item, "generator", 1, f"Set{rating} for {facts.days} days.", by)
    if supply.set is not None and (bank := supply.set.load_bank) is not None:
        _bank(made, bank, supply)
    most = supply.generator.results.fuel_total
    if most is UNSET:
        return
    reason: Words = "For the whole period, all machines at full capacity."
    ordered = most
    if isinstance(energy, Asked) and energy.results.fuel_volume is not UNSET:
        ordered, by = energy.results.fuel_volume, "electrical.energy_cost"
        reason = say(
            "For the whole period at {mean} on average; {most} with all machines at full capacity.",
            mean=energy.results.average_power,
            most=most,
        )
    made.bought("fuel, litres", ceil(ordered.to("L")), reason, by)
