"""Fuel, time per fill and refuelling."""

from typing import NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract import Allowed, Notes, refuse, say, tidy
from coldwright.contract.quantities import Duration, FuelRate, Power, Volume
from coldwright_basis.compare import below
from coldwright_electrical.generator.given import GeneratorGiven
from coldwright_electrical.generator.sets import Machine
from coldwright_electrical.shared.fuel import FUEL_CHART, fuel_rate, old_set_fuel_rate
from coldwright_electrical.shared.given import LEAST_LOAD


class FuelUse(NamedTuple):
    """Fuel of the set in question; what was not asked for is left out."""

    rate: FuelRate | UnsetType = UNSET
    per_fill: Duration | UnsetType = UNSET
    interval: Duration | UnsetType = UNSET
    total: Volume | UnsetType = UNSET


def _least_factor(given: GeneratorGiven, load: float) -> float | None:
    """The least `load_factor` that would do; None where none does, or where a load bank says what the set is held at."""
    if load <= 0 or not isinstance(given.load_bank_power, UnsetType):
        return None
    least = tidy(given.load_factor * LEAST_LOAD / load)
    return least if least <= 1 else None


def fuel_use(given: GeneratorGiven, notes: Notes, machine: Machine, low_kw: float) -> FuelUse:
    """Fuel at the low load [kW]; refused where the set given would idle, a `check` where no curve reaches."""
    load = low_kw / machine.kw
    if below(load, LEAST_LOAD) and not isinstance(given.generator, UnsetType):
        least = _least_factor(given, load)
        raise refuse(
            "/loads" if least is None else "/load_factor",
            f"The load would be {load:.3g} of the set's rating, outside the method, which begins at {LEAST_LOAD:g} of it.",
            value=tidy(load) if least is None else given.load_factor,
            allowed=UNSET if least is None else Allowed(minimum=least),
            why="Fuel curves say nothing of an idling engine.",
        )
    rate = fuel_rate(machine.kw, load, given.fuel_curve)
    if rate is None:
        notes.show("P/P_r", "Load as a share of the rating", f"{low_kw:.6g} / {machine.kw:.6g}", load)
        notes.check(
            "fuel_not_known",
            say(
                "Neither a fuel curve nor the chart of typical sets reaches {rated:g} at a load of {load:.3f}.",
                rated=Power.of(machine.kw, "kW"),
                load=load,
            ),
            resolve="Give the set's own fuel_curve.",
            field="/fuel_curve",
            references=(FUEL_CHART.reference.id,),
        )
        return FuelUse()
    notes.show(
        "q",
        f"Fuel rate; an older line of small sets gives {old_set_fuel_rate(machine.kw, load):.4g} L/h",
        f"{low_kw:.5g} kW / {machine.kw:g} kW = {load:.4g} of the rating, on straight lines",
        rate,
        "L/h",
    )
    per_fill: Duration | UnsetType = UNSET
    interval: Duration | UnsetType = UNSET
    total: Volume | UnsetType = UNSET
    if not isinstance(given.run_duration, UnsetType):
        total = Volume.of(rate * given.run_duration.to("h"), "L")
    if not isinstance(given.tank_volume, UnsetType):
        hours = given.tank_volume.to("L") * given.usable_fraction / rate
        notes.show(
            "t",
            "Time per fill",
            f"{given.tank_volume.to('L'):.5g} x {given.usable_fraction:g} / {rate:.5g}",
            hours,
            "h",
        )
        per_fill = Duration.of(hours, "h")
        left = hours - given.reserve_duration.to("h")
        if left > 0:
            interval = Duration.of(left, "h")
        else:
            notes.check(
                "tank_below_reserve",
                say(
                    "A full tank lasts {hours:.3g}, no longer than the reserve of {reserve_duration}.",
                    hours=Duration.of(hours, "h"),
                    reserve_duration=given.reserve_duration,
                ),
                resolve="A larger tank, or a second one beside it.",
                field="/tank_volume",
            )
    return FuelUse(FuelRate.of(rate, "L/h"), per_fill, interval, total)
