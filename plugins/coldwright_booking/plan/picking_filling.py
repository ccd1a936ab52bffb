"""Lines of the pick list for filling: vessels, backflow, tap and its pump, antifreeze and premix, relief, vents, flushing."""

from coldwright.contract import say
from coldwright.contract.quantities import Volume
from coldwright.contract.sentences import Words
from coldwright_basis.compare import whole_at_least
from coldwright_booking.fleet import given as stock
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.desk import Asked
from coldwright_booking.plan.fill import Charge, Fill
from coldwright_booking.plan.filling import Filling
from coldwright_booking.plan.liquid import Liquid
from coldwright_booking.plan.pick_list import PickList
from coldwright_booking.plan.vessels import Vessels
from coldwright_booking.words import both

PREMIX_TANK, TOTE = "premix tank of 1,000 L (264 gal)", "tote of 1,000 L (264 gal)"
"""Names of what is hired where the stock has none."""
DRUM = 200.0
"""L of antifreeze in a drum where the stock names none (common practice)."""
BY = "hydronic.fill"


def pick_liquid(
    made: PickList, facts: Facts, liquid: Liquid, fill: Fill, charge: Charge | None, filling: Filling | None
) -> None:
    """What holds the liquid, what brings it in, and the liquid itself."""
    if isinstance(fill.asked, Asked):
        filled = fill.asked.results
        together = Volume.of(sum(b.volume.to("L") for b in fill.buffers), "L")
        taken = Volume.of(sum(v.volume.to("L") for v in fill.expansion), "L")
        adds = say("Adds what the control lacks: {together} together.", together=together)
        _vessel(made, "buffer_vessel", fill.buffers, adds, "adds volume")
        growth = say("Takes up the growth: {size} needed, {taken} together.", size=filled.vessel_volume, taken=taken)
        _vessel(made, "expansion_vessel", fill.expansion, growth, "on the pump's suction")
        word = filled.proposed_backflow_preventer.replace("_", " ")
        if filled.proposed_backflow_preventer != "none":
            made.add(f"backflow preventer, {word}", "other", 1, "Between the tap and the loop.", BY)
    if filling is not None:
        _gear(made, filling)
    engines = 1 if facts.order.supply.source == "generator" else 0
    if charge is not None:
        _antifreeze(made, liquid, charge)
    spill = engines + (1 if charge is not None else 0)
    made.any_of(stock.SpillKit, "spill_kit", spill, "Fuel or antifreeze is on site.", "site.transport")


def _gear(made: PickList, filling: Filling) -> None:
    if filling.booster:
        stated: Words = "The tap's pressure is not given"
        if filling.reachable is not None:
            stated = say("The tap reaches {left} behind the backflow preventer", left=filling.reachable)
        elif filling.tap_known:
            stated = "Nothing is left of the tap's pressure behind the backflow preventer"
        made.gear(
            "booster",
            "booster pump for filling",
            1,
            say("{stated}: the loop needs {needed}.", stated=stated, needed=filling.required),
            BY,
        )
    made.gear(
        "relief valve",
        "relief valve",
        filling.relief_valves,
        say(
            "One for the loop, on the pump's suction by the vessel, and one for each machine that can be shut off; set to "
            "{setting}, and not above the rating of hose and machine.",
            setting=filling.relief_setting,
        ),
        BY,
        "on the pump's suction, by the vessel",
    )
    made.gear(
        "air vent",
        "air vent",
        filling.vents,
        "At high points, headers and buffer vessels.",
        "hydronic.air_removal",
        "high points",
    )
    dirt = "Joins supply and return before the load, so that dirt of new hose is flushed out and not through it"
    made.gear(
        "flush",
        "flushing bypass with two valves",
        1,
        f"{dirt}."
        if filling.flushing is None
        else say("{dirt}: {water:.0f} before filling.", dirt=dirt, water=filling.flushing),
        "readiness.procedure",
    )


def _antifreeze(made: PickList, liquid: Liquid, charge: Charge) -> None:
    concentrate = charge.asked.results.concentrate_volume
    row, fluid, by = charge.row, liquid.fluid, "hydronic.antifreeze"
    each = row.volume.to("L") if row else DRUM
    made.add(
        row.item if row else f"{fluid.kind.replace('_', ' ')}, drum of {both(Volume(DRUM, 'L'))}",
        "antifreeze",
        whole_at_least(concentrate.to("L") / each),
        say(
            "{litres} of concentrate, for {strength:.3f} by mass in the loop.",
            litres=concentrate,
            strength=fluid.mass_fraction,
        ),
        by,
    )
    reason = "To mix in, to top up, and to take the mixture back."
    made.gear("premix", PREMIX_TANK, 1, reason, by)
    made.gear("charging pump", "charging pump with hoses", 1, "Drum to tank, tank to loop.", by)
    made.gear("refractometer", "refractometer", 1, "Reads the strength of the mixture.", by)


def pick_totes(made: PickList, totes: int) -> None:
    """Containers for the mixture that comes back, beside the premix tank."""
    reason = "With the premix tank they take the mixture back at the end; nothing of it goes down a drain."
    made.gear("tote", TOTE, totes - 1, reason, "hydronic.drain_down")


def _vessel(made: PickList, word: str, vessels: tuple[Vessels, ...], reason: Words, purpose: str) -> None:
    for vessel in vessels:
        made.add(vessel.item, word, vessel.count, reason, BY, purpose)
