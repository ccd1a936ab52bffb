"""What a person should know of energy and cost."""

from typing import Final

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, finding, say
from coldwright.contract.quantities import Duration, Energy, Power
from coldwright_electrical.energy_cost.amounts import EMISSION, HOURS_ROUNDED, average_power
from coldwright_electrical.energy_cost.given import EnergyCostGiven, EnergyGeneratorGiven
from coldwright_electrical.shared.fuel import FUEL_CHART
from coldwright_electrical.shared.references import COMMON_PRACTICE

LIGHT_LOAD = 0.30

FINDINGS: Final = (
    finding("other_source_ignored", "note", "Fields that belong to the other source of power were not used."),
    finding("negative_price", "note", "A utility price is below zero."),
    finding("average_load_in_fuel_curve", "note", "The fuel was read at the average load."),
    finding("typical_fuel", "note", "The fuel was read from a chart of typical sets."),
    finding("other_gases_left_out", "note", "Methane and nitrous oxide are not in the mass."),
    finding("set_too_small", "stop", "The plant when running needs more than the set's rating."),
    finding("light_load", "check", "The set runs lightly loaded."),
    finding("hours_not_filled", "note", "The bins do not fill the duration."),
    finding("bins_differ_from_load_factor", "check", "Bins and load factor give different energy."),
)


def judge_set(given: EnergyCostGiven, notes: Notes, rated: float, load: float) -> None:
    """Findings on the set: its rating and its average load over that rating."""
    notes.note(
        "other_gases_left_out",
        "The mass is of carbon dioxide alone: methane and nitrous oxide from the engine are not in it.",
        references=(EMISSION.reference.id,),
    )
    running = given.active_power.to("kW")
    if running > rated:
        notes.stop(
            "set_too_small",
            say(
                "The plant when running needs {running:g}, {ratio:.3g} times the set's {rated:g}.",
                running=Power.of(running, "kW"),
                ratio=running / rated,
                rated=Power.of(rated, "kW"),
            ),
            why="The average load hides the peak, which the set must carry.",
            resolve=say("A set of at least {running:g}.", running=Power.of(running, "kW")),
            field="/generator/rated_active_power",
        )
    if load < LIGHT_LOAD:
        notes.check(
            "light_load",
            say(
                "On average the set is loaded to {load:.3g} of its rating, below {light_load:g}.",
                load=load,
                light_load=LIGHT_LOAD,
            ),
            why="Unburnt fuel gathers in the exhaust of a diesel engine that runs lightly loaded for hours.",
            resolve=say(
                "A set of at most {load:.4g}, or a load bank: ask electrical.generator.",
                load=Power.of(load * rated / LIGHT_LOAD, "kW"),
            ),
            field="/generator/rated_active_power",
            references=(COMMON_PRACTICE.id,),
        )
    if isinstance(given.generator, EnergyGeneratorGiven) and isinstance(given.generator.fuel_curve, UnsetType):
        notes.note(
            "typical_fuel",
            "The fuel was read from a chart of typical sets, about 15 % either way.",
            resolve="Give the set's own fuel_curve.",
            references=(FUEL_CHART.reference.id,),
        )
    if not given.bins:
        notes.note(
            "average_load_in_fuel_curve",
            say("The fuel was read at the average load, {load:.3g} of the rating.", load=load),
            why="That is exact only where fuel rises in a straight line with load.",
            resolve="For machines that cycle, give the hours at each load in `bins`.",
        )


def compare_bins(given: EnergyCostGiven, notes: Notes, energy: float) -> None:
    """Compare the energy of the bins [kWh] with the load factor, and their hours with the duration."""
    hours, filled = given.duration.to("h"), sum(b.hours.to("h") for b in given.bins)
    if filled < hours * (1 - HOURS_ROUNDED):
        notes.show("t_b", "Time of all bins", "sum of the hours of the bins", filled, "h")
        notes.note(
            "hours_not_filled",
            say(
                "The bins hold {filled:.6g} of {hours:.6g}: for the rest the set is taken to stand still.",
                filled=Duration.of(filled, "h"),
                hours=Duration.of(hours, "h"),
            ),
            field="/bins",
        )
    if isinstance(given.load_factor, UnsetType):
        return
    other = average_power(given) * hours
    if abs(energy - other) > 0.1 * other:
        notes.show("E_LF", "Energy by the load factor", "power x load factor x time", Energy.of(other, "kWh"))
        notes.check(
            "bins_differ_from_load_factor",
            say(
                "The bins give {energy:.6g}, power x load factor x time gives {other:.6g}. The bins were used.",
                energy=Energy.of(energy, "kWh"),
                other=Energy.of(other, "kWh"),
            ),
            resolve="Leave out load_factor, or put one of the two right.",
            field="/bins",
        )


def report_unused(given: EnergyCostGiven, notes: Notes, names: tuple[str, ...]) -> None:
    """A `note` with the fields that belong to the other source of power."""
    ignored = [n for n in names if getattr(given, n) is not UNSET and getattr(given, n) != ()]
    if ignored:
        notes.note(
            "other_source_ignored",
            f"Not used, since the source is the {given.source}: {', '.join(ignored)}.",
            field=f"/{ignored[0]}",
        )
