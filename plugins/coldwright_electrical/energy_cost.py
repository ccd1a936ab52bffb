"""Energy, fuel, cost and carbon dioxide of running the plant for a time."""

import math
from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import (
    Allowed,
    Defect,
    Example,
    FieldError,
    Given,
    Money,
    Notes,
    Refused,
    Results,
    about,
    calculator,
    field_error,
    finding,
    load_table,
    refuse,
    tidy,
)
from coldwright.contract.quantities import Duration, Energy, FuelRate, Mass, Power, Volume
from coldwright_electrical.cautions import FAMILY, GENERATOR
from coldwright_electrical.fuel import FUEL_CHART, LEAST_LOAD, FuelPointGiven, curve_errors, fuel_rate
from coldwright_electrical.practice import PracticeField
from coldwright_electrical.references import COMMON_PRACTICE, OSHA_FUEL_AND_EXHAUST, SAFE_WORK

EMISSION = load_table("coldwright_electrical", "diesel_emission")
HOURS_IN_A_BILLING_MONTH = 730
LIGHT_LOAD = 0.30
GREATEST_AMOUNT = 1e12


class EnergyGeneratorGiven(Given, frozen=True, kw_only=True):
    """The generating set that feeds the plant."""

    rated_active_power: Annotated[Power, about("Rated active power of the set.", above=0, high=10000, unit="kW")]
    fuel_curve: (
        Annotated[
            tuple[FuelPointGiven, ...],
            about("The set's own fuel curve, by rising load.", min_length=2, max_length=50),
        ]
        | UnsetType
    ) = UNSET


class LoadBinGiven(Given, frozen=True, kw_only=True):
    """Hours spent at one load of the set."""

    load_fraction: Annotated[float, about("Load as a share of the set's rated active power.", low=LEAST_LOAD, high=1)]
    hours: Annotated[Duration, about("Time spent at this load.", above=0, high=87600, unit="h")]


class EnergyCostGiven(Given, frozen=True, kw_only=True):
    """The load, how long it runs, and what energy or fuel costs."""

    practice: PracticeField
    active_power: Annotated[Power, about("Electrical power when running.", above=0, high=10000, unit="kW")]
    load_factor: (
        Annotated[
            float,
            about(
                "Average power as a share of `active_power`; needed unless `bins` tell the load of a generator.",
                above=0,
                high=1,
            ),
        ]
        | UnsetType
    ) = UNSET
    duration: Annotated[Duration, about("Length of the hire.", above=0, high=87600, unit="h")]
    source: Annotated[Literal["utility", "generator"], about("Where the power comes from.")]
    energy_price: Annotated[Money, about("Price of a kWh from the utility.")] | UnsetType = UNSET
    demand_price: Annotated[Money, about("Price of a kW of demand in a billing month.")] | UnsetType = UNSET
    demand_power: (
        Annotated[Power, about("Demand that is billed; `active_power` where left out.", low=0, high=10000, unit="kW")]
        | UnsetType
    ) = UNSET
    grid_emission_factor: Annotated[float, about("Carbon dioxide of the grid, kg/kWh.", low=0, high=3)] | UnsetType = (
        UNSET
    )
    generator: Annotated[EnergyGeneratorGiven, about("The set; required with source `generator`.")] | UnsetType = UNSET
    fuel_price: Annotated[Money, about("Price of a litre of diesel fuel.")] | UnsetType = UNSET
    bins: Annotated[
        tuple[LoadBinGiven, ...],
        about("Hours by load of the set, for machines that cycle; they replace the average load.", max_length=100),
    ] = ()
    cooling_energy: (
        Annotated[Energy, about("Cooling delivered over the same time.", above=0, high=1e9, unit="kWh")] | UnsetType
    ) = UNSET


class EnergyCostResults(Results, frozen=True, kw_only=True):
    """Energy and what it costs. Money is not rounded."""

    energy: Annotated[Energy, about("Electrical energy used.")]
    average_power: Annotated[Power, about("Average electrical power.")]
    billing_months: Annotated[int, about("Billing months touched, of 730 h each.")] | UnsetType = UNSET
    energy_cost: Annotated[Money, about("Cost of the energy from the utility.")] | UnsetType = UNSET
    demand_cost: Annotated[Money, about("Cost of the demand.")] | UnsetType = UNSET
    load_fraction: Annotated[float, about("Average load as a share of the set's rating.")] | UnsetType = UNSET
    fuel_rate: Annotated[FuelRate, about("Average fuel burnt.")] | UnsetType = UNSET
    fuel_volume: Annotated[Volume, about("Fuel burnt in all.")] | UnsetType = UNSET
    fuel_cost: Annotated[Money, about("Cost of the fuel.")] | UnsetType = UNSET
    total_cost: Annotated[Money, about("Energy and demand, or fuel.")] | UnsetType = UNSET
    carbon_dioxide_mass: Annotated[Mass, about("Carbon dioxide set free.")] | UnsetType = UNSET
    cost_per_cooling_energy: Annotated[Money, about("Total cost for each kWh of cooling.")] | UnsetType = UNSET


@calculator(
    "electrical.energy_cost",
    version="1.0.0",
    title="Energy, fuel, cost and carbon dioxide of a hire",
    references=(*SAFE_WORK, OSHA_FUEL_AND_EXHAUST),
    tables=(FUEL_CHART, EMISSION),
    hazards=("electrical",),
    findings=(
        finding("other_source_ignored", "note", "Fields that belong to the other source of power were not used."),
        finding("negative_price", "note", "A utility price is below zero."),
        finding("average_load_in_fuel_curve", "note", "The fuel was read at the average load."),
        finding("typical_fuel", "note", "The fuel was read from a chart of typical sets."),
        finding("other_gases_left_out", "note", "Methane and nitrous oxide are not in the mass."),
        finding("set_too_small", "stop", "The plant when running needs more than the set's rating."),
        finding("light_load", "check", "The set runs lightly loaded."),
        finding("hours_not_filled", "note", "The bins do not fill the duration."),
        finding("bins_differ_from_load_factor", "check", "Bins and load factor give different energy."),
    ),
    examples=(
        Example(
            "a month on the utility",
            "An invented month of an invented machine, with a demand charge.",
            {
                "practice": "nec",
                "active_power": {"value": 110, "unit": "kW"},
                "load_factor": 0.65,
                "duration": {"value": 30, "unit": "d"},
                "source": "utility",
                "energy_price": {"value": 0.118, "currency": "USD"},
                "demand_price": {"value": 14.5, "currency": "USD"},
                "demand_power": {"value": 118, "unit": "kW"},
                "grid_emission_factor": 0.37,
                "cooling_energy": {"value": 165000, "unit": "kWh"},
            },
        ),
        Example(
            "a fortnight on a generating set",
            "An invented set that carries an invented load, cycling between two states.",
            {
                "practice": "iec",
                "active_power": {"value": 92, "unit": "kW"},
                "duration": {"value": 14, "unit": "d"},
                "source": "generator",
                "generator": {"rated_active_power": {"value": 160, "unit": "kW"}},
                "fuel_price": {"value": 1.42, "currency": "EUR"},
                "bins": [
                    {"load_fraction": 0.575, "hours": {"value": 190, "unit": "h"}},
                    {"load_fraction": 0.31, "hours": {"value": 146, "unit": "h"}},
                ],
            },
        ),
    ),
)
def energy_cost(given: EnergyCostGiven, notes: Notes) -> EnergyCostResults:
    """Energy, money, fuel and carbon dioxide of running a load for a time.

    Energy is power x load factor x time. From a utility it costs its price for each kWh, and the demand its price for
    each kW in every billing month touched. From a generating set the fuel is read from the set's own curve, or from a
    chart of typical sets (20 to 2,000 kW, about 15 % either way). A curve that is not straight makes the average load
    a poor guide: give `bins` for machines that cycle.
    """
    _refuse_contradictions(given)
    notes.caution(*(FAMILY if given.source == "utility" else GENERATOR))
    if given.source == "utility":
        return _utility(given, notes)
    return _generator(given, notes)


def _utility(given: EnergyCostGiven, notes: Notes) -> EnergyCostResults:
    price = given.energy_price
    if isinstance(price, UnsetType):
        raise refuse("/energy_price", "A price is needed with source `utility`.", code="missing")
    _tell_ignored(given, notes, ("generator", "fuel_price", "bins"))
    hours, power = given.duration.to("h"), _average_power(given)
    energy = power * hours
    _show_energy(given, notes, power, energy)
    months = max(1, math.ceil(hours / HOURS_IN_A_BILLING_MONTH - 1e-9))
    cost = energy * price.value
    notes.show("C_E", "cost of energy", f"E x price = {energy:.6g} x {price.value:.6g}", cost, price.currency)
    if price.value < 0:
        notes.note(
            "negative_price",
            f"The energy price is {price.value:g} {price.currency} a kWh, so using more earns money.",
            why="Some tariffs go below zero at times; for a whole hire it is more often a slip of the pen.",
            field="/energy_price",
        )
    demand_cost = _demand_cost(given, notes, months)
    total = cost + (demand_cost or 0.0)
    mass: Mass | UnsetType = UNSET
    if not isinstance(given.grid_emission_factor, UnsetType):
        mass = Mass.of(energy * given.grid_emission_factor, "kg")
        notes.show("m_CO2", "carbon dioxide", f"E x factor = {energy:.6g} x {given.grid_emission_factor:.4g}", mass)
    return EnergyCostResults(
        energy=Energy.of(energy, "kWh"),
        average_power=Power.of(power, "kW"),
        billing_months=months,
        energy_cost=_money(cost, price.currency, "/energy_price"),
        demand_cost=UNSET if demand_cost is None else _money(demand_cost, price.currency, "/demand_price"),
        total_cost=_money(total, price.currency, "/energy_price"),
        carbon_dioxide_mass=mass,
        cost_per_cooling_energy=_per_cooling(given, notes, total, price.currency),
    )


def _demand_cost(given: EnergyCostGiven, notes: Notes, months: int) -> float | None:
    price, power = given.demand_price, given.demand_power
    if isinstance(price, UnsetType):
        return None
    if isinstance(power, UnsetType):
        power = given.active_power
        notes.assume(
            "demand_is_active_power", f"The demand billed is the running power, {power}.", value=power, basis="derived"
        )
    if price.value < 0:
        notes.note(
            "negative_price", f"The demand price is {price.value:g} {price.currency} a kW.", field="/demand_price"
        )
    cost = power.to("kW") * price.value * months
    notes.show(
        "C_D",
        "cost of demand",
        f"demand x price x months = {power.to('kW'):.6g} x {price.value:.6g} x {months}",
        cost,
        price.currency,
    )
    return cost


def _generator(given: EnergyCostGiven, notes: Notes) -> EnergyCostResults:
    machine = given.generator
    if isinstance(machine, UnsetType):
        raise refuse("/generator", "The set is needed with source `generator`.", code="missing")
    _tell_ignored(given, notes, ("energy_price", "demand_price", "demand_power", "grid_emission_factor"))
    rated = machine.rated_active_power.to("kW")
    power, volume = _fuel(given, notes, machine, rated)
    hours = given.duration.to("h")
    energy, load, rate = power * hours, power / rated, volume / hours
    notes.show("V", "fuel in all", f"rate x t = {rate:.6g} x {hours:.6g}", volume, "L")
    per_litre: float = EMISSION.rows["kg_per_litre"]
    mass = volume * per_litre
    notes.show("m_CO2", "carbon dioxide", f"V x {per_litre} kg/L = {volume:.6g} x {per_litre}", mass, "kg")
    _judge_set(given, notes, rated, load)
    cost: float | None = None
    currency = ""
    if not isinstance(given.fuel_price, UnsetType):
        currency = given.fuel_price.currency
        cost = volume * given.fuel_price.value
        notes.show("C_F", "cost of fuel", f"V x price = {volume:.6g} x {given.fuel_price.value:.6g}", cost, currency)
    money: Money | UnsetType = UNSET if cost is None else _money(cost, currency, "/fuel_price")
    return EnergyCostResults(
        energy=Energy.of(energy, "kWh"),
        average_power=Power.of(power, "kW"),
        load_fraction=tidy(load),
        fuel_rate=FuelRate.of(rate, "L/h"),
        fuel_volume=Volume.of(volume, "L"),
        fuel_cost=money,
        total_cost=money,
        carbon_dioxide_mass=Mass.of(mass, "kg"),
        cost_per_cooling_energy=UNSET if cost is None else _per_cooling(given, notes, cost, currency),
    )


def _fuel(given: EnergyCostGiven, notes: Notes, machine: EnergyGeneratorGiven, rated: float) -> tuple[float, float]:
    """Average kW over the duration, and litres in all."""
    hours = given.duration.to("h")
    if not given.bins:
        power = _average_power(given)
        rate = _rate(rated, power / rated, machine, "/active_power")
        _show_energy(given, notes, power, power * hours)
        notes.show("q", "fuel rate at the average load", f"load {power / rated:.4g} of {rated:.6g} kW", rate, "L/h")
        return power, rate * hours
    energy = volume = 0.0
    for index, entry in enumerate(given.bins):
        time = entry.hours.to("h")
        rate = _rate(rated, entry.load_fraction, machine, f"/bins/{index}/load_fraction")
        energy += entry.load_fraction * rated * time
        volume += rate * time
        notes.show(
            f"V_{index + 1}",
            "fuel in this bin",
            f"{rate:.6g} L/h at load {entry.load_fraction:.4g} x {time:.6g} h",
            rate * time,
            "L",
        )
    notes.show("E", "energy", "sum of load x rating x hours over the bins", energy, "kWh")
    _compare_bins(given, notes, energy)
    return energy / hours, volume


def _rate(rated: float, load: float, machine: EnergyGeneratorGiven, pointer: str) -> float:
    rate = fuel_rate(rated, load, machine.fuel_curve)
    if rate is not None:
        return rate
    if load < LEAST_LOAD or load > 1:
        raise refuse(
            pointer,
            f"The set's load would be {load:.4g} of its rating, outside the method's range.",
            value=tidy(load),
            allowed=Allowed(minimum=LEAST_LOAD, maximum=1),
            why="Fuel curves say nothing of an idling or an overloaded engine.",
        )
    if isinstance(machine.fuel_curve, UnsetType):
        sizes = [row[0] for row in FUEL_CHART.rows]
        raise refuse(
            "/generator/rated_active_power",
            f"The chart of typical sets does not reach {rated:g} kW: give the set's own fuel_curve.",
            value=machine.rated_active_power,
            allowed=Allowed(minimum=sizes[0], maximum=sizes[-1], unit="kW"),
        )
    raise refuse(
        "/generator/fuel_curve",
        f"The fuel curve does not reach a load of {load:.4g}.",
        why="Above the last point nothing is known, and below the first the line may not fall to zero.",
    )


def _judge_set(given: EnergyCostGiven, notes: Notes, rated: float, load: float) -> None:
    notes.note(
        "other_gases_left_out",
        "The mass is of carbon dioxide alone: methane and nitrous oxide from the engine are not in it.",
        references=(EMISSION.reference.id,),
    )
    running = given.active_power.to("kW")
    if running > rated:
        notes.stop(
            "set_too_small",
            f"The plant when running needs {running:g} kW, {running / rated:.3g} times the set's {rated:g} kW.",
            why="The average load hides the peak, which the set must carry.",
            resolve=f"A set of at least {running:g} kW.",
            field="/generator/rated_active_power",
        )
    if load < LIGHT_LOAD:
        notes.check(
            "light_load",
            f"On average the set is loaded to {load:.3g} of its rating, below {LIGHT_LOAD:g}.",
            why="Unburnt fuel gathers in the exhaust of a diesel engine that runs lightly loaded for hours.",
            resolve=f"A set of at most {load * rated / LIGHT_LOAD:.4g} kW, or a load bank: ask electrical.generator.",
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
            f"The fuel was read at the average load, {load:.3g} of the rating.",
            why="That is exact only where fuel rises in a straight line with load.",
            resolve="For machines that cycle, give the hours at each load in `bins`.",
        )


def _compare_bins(given: EnergyCostGiven, notes: Notes, energy: float) -> None:
    hours, filled = given.duration.to("h"), sum(b.hours.to("h") for b in given.bins)
    if filled < hours * (1 - 1e-6):
        notes.note(
            "hours_not_filled",
            f"The bins hold {filled:.6g} h of {hours:.6g} h: for the rest the set is taken to stand still.",
            field="/bins",
        )
    if isinstance(given.load_factor, UnsetType):
        return
    other = _average_power(given) * hours
    if abs(energy - other) > 0.1 * other:
        notes.check(
            "bins_differ_from_load_factor",
            f"The bins give {energy:.6g} kWh, power x load factor x time gives {other:.6g} kWh. The bins were used.",
            resolve="Leave out load_factor, or put one of the two right.",
            field="/bins",
        )


def _refuse_contradictions(given: EnergyCostGiven) -> None:
    errors: list[FieldError] = []
    if isinstance(given.load_factor, UnsetType) and not (given.source == "generator" and given.bins):
        errors.append(
            field_error(
                "/load_factor",
                "The average load is not known: give the load factor, 1 for a load that always runs in full.",
                code="missing",
                allowed=Allowed(maximum=1),
                why="Machines that cycle use far less than their full power, and a guess would be the whole answer.",
            )
        )
    used: tuple[tuple[str, Money | UnsetType], ...]
    if given.source == "utility":
        used = (("/energy_price", given.energy_price), ("/demand_price", given.demand_price))
    else:
        used = (("/fuel_price", given.fuel_price),)
        price = given.fuel_price
        if not isinstance(price, UnsetType) and price.value < 0:
            errors.append(
                field_error(
                    "/fuel_price/value",
                    "Nobody pays for fuel to be taken away.",
                    code="out_of_range",
                    value=price.value,
                    allowed=Allowed(minimum=0),
                )
            )
        if not isinstance(given.generator, UnsetType):
            errors += curve_errors(given.generator.fuel_curve, "/generator/fuel_curve")
        filled = sum(b.hours.to("h") for b in given.bins)
        if filled > given.duration.to("h") * (1 + 1e-6):
            errors.append(
                field_error(
                    "/bins",
                    f"The bins hold {filled:.6g} h, more than the duration.",
                    value=tidy(filled),
                    allowed=Allowed(maximum=given.duration.to("h"), unit="h"),
                )
            )
    prices = [(pointer, p.currency) for pointer, p in used if not isinstance(p, UnsetType)]
    errors += [
        field_error(
            f"{pointer}/currency",
            f"The currency is {currency} here and {prices[0][1]} in {prices[0][0]}.",
            value=currency,
            allowed=Allowed(one_of=(prices[0][1],)),
            why="One currency in one call: nothing here knows a rate of exchange.",
        )
        for pointer, currency in prices[1:]
        if currency != prices[0][1]
    ]
    if errors:
        raise Refused(errors)


def _tell_ignored(given: EnergyCostGiven, notes: Notes, names: tuple[str, ...]) -> None:
    ignored = [n for n in names if getattr(given, n) is not UNSET and getattr(given, n) != ()]
    if ignored:
        notes.note(
            "other_source_ignored",
            f"Not used, since the source is the {given.source}: {', '.join(ignored)}.",
            field=f"/{ignored[0]}",
        )


def _average_power(given: EnergyCostGiven) -> float:
    if isinstance(given.load_factor, UnsetType):
        raise Defect("the load factor was not checked")
    return given.active_power.to("kW") * given.load_factor


def _show_energy(given: EnergyCostGiven, notes: Notes, power: float, energy: float) -> None:
    expression = f"P x load factor = {given.active_power.to('kW'):.6g} x {given.load_factor:.4g}"
    notes.show("P_m", "average power", expression, power, "kW")
    notes.show("E", "energy", f"P_m x t = {power:.6g} x {given.duration.to('h'):.6g}", energy, "kWh")


def _per_cooling(given: EnergyCostGiven, notes: Notes, total: float, currency: str) -> Money | UnsetType:
    if isinstance(given.cooling_energy, UnsetType):
        return UNSET
    cooling = given.cooling_energy.to("kWh")
    notes.show("c", "cost of a kWh of cooling", f"{total:.6g} / {cooling:.6g}", total / cooling, f"{currency}/kWh")
    return _money(total / cooling, currency, "/cooling_energy")


def _money(amount: float, currency: str, pointer: str) -> Money:
    if abs(amount) > GREATEST_AMOUNT:
        raise refuse(
            pointer, "The price makes an amount beyond what is taken.", allowed=Allowed(maximum=GREATEST_AMOUNT)
        )
    return Money(value=tidy(amount), currency=currency)
