"""What the plan costs and what carbon dioxide it sets free, as far as rates are given."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Annotated, Literal, NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract import Allowed, Results, about, refuse, tidy
from coldwright.contract.people import count_of
from coldwright_basis.price import MOST, Currency, DecimalText, exactly, in_minor_units, rate_of, text_of
from coldwright_booking.fleet.money import currency_of
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.crew import Crew
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.energy import Energy, average_load, rates_of
from coldwright_booking.plan.machines import Combination, Machines
from coldwright_booking.plan.pick_list import PlanPickLine
from coldwright_booking.plan.picking import Picking
from coldwright_booking.plan.supply import SupplyPlan
from coldwright_booking.plan.transport import TransportPlan
from coldwright_booking.rates.given import DistancePrice, FuelPrice, Rates
from coldwright_booking.rates.hire import hire_of
from coldwright_electrical.energy_cost.given import EnergyCostGiven
from coldwright_electrical.energy_cost.results import EnergyCostResults

LITRES_A_GALLON = Decimal("3.785411784")
"""US gallon, by definition (231 cubic inches)."""
KM_A_MILE = Decimal("1.609344")
"""International mile, by definition."""
BOTH_WAYS = 2
ROUNDED = Decimal("0.02")
"""What rounding may take off one line."""
Kind = Literal["hire", "transport", "crew", "fuel", "power"]
KINDS: tuple[Kind, ...] = ("hire", "transport", "crew", "fuel", "power")


class CostLine(Results, frozen=True, kw_only=True):
    """One line of the price."""

    kind: Annotated[Kind, about("What is paid for.")]
    item: Annotated[str, about("What, by its name in the pick list where it has one.")]
    count: Annotated[float, about("How many units of it.")]
    unit: Annotated[
        str, about("What is counted: `piece`, `hour`, `km`, `mi`, `L`, `gal`, `kWh`, `load one way`, `total`.")
    ]
    rate: Annotated[DecimalText, about("For one unit, as decimal text.")]
    amount: Annotated[DecimalText, about("Rounded to what the currency can pay, as decimal text.")]
    reason: Annotated[str, about("How it comes about.")]


class NotPriced(Results, frozen=True, kw_only=True):
    """Something that the plan takes and nobody gave a price of."""

    kind: Annotated[Kind, about("What would be paid for.")]
    item: Annotated[str, about("What.")]
    why: Annotated[str, about("What is missing.")]


class CostBlock(Results, frozen=True, kw_only=True):
    """What the plan costs in one currency. Subtotals and total are sums of the lines as they are rounded."""

    currency: Currency
    lines: Annotated[tuple[CostLine, ...], about("Line by line.")]
    hire: Annotated[DecimalText, about("Hire of machines and accessories.")] | UnsetType = UNSET
    transport: Annotated[DecimalText, about("Vehicles, there and back.")] | UnsetType = UNSET
    crew: Annotated[DecimalText, about("People, for setting up and for taking away.")] | UnsetType = UNSET
    fuel: Annotated[DecimalText, about("Fuel of the generating set.")] | UnsetType = UNSET
    power: Annotated[DecimalText, about("Energy and demand from the site's supply.")] | UnsetType = UNSET
    total: Annotated[DecimalText, about("Sum of all lines.")]
    complete: Annotated[bool, about("Whether everything that the plan takes has a price.")]
    not_priced: Annotated[tuple[NotPriced, ...], about("What has none, and so is not in the total.")]
    plans_compared: Annotated[int, about("Plans of which the cost was compared, this one among them.")] = 1
    least_proved: (
        Annotated[
            bool,
            about("With `lowest_cost`: whether no other combination of these types can cost less in all."),
        ]
        | UnsetType
    ) = UNSET


class Cost(NamedTuple):
    """What the plan comes to."""

    block: CostBlock | None
    """None where nothing has a price."""
    energy: Energy | None
    machines: Decimal | None
    """Hire of the machines alone; None where a type has no rate."""

    @property
    def total(self) -> Decimal | None:
        """Sum of all lines."""
        return None if self.block is None else Decimal(self.block.total)


class CostNeeds(NamedTuple):
    """What the price takes of the plan."""

    facts: Facts
    machines: Machines
    supply: SupplyPlan | Unanswered | None
    transport: TransportPlan | None
    crew: Crew | None
    picking: Picking
    energy: Energy | None


class _Bill:
    """Lines, and what has no price."""

    def __init__(self, currency: str) -> None:
        self.currency = currency
        self.lines: list[CostLine] = []
        self.without: list[NotPriced] = []

    def add(self, kind: Kind, item: str, count: Decimal, unit: str, rate: Decimal, reason: str) -> None:
        """A line; the count is what is multiplied, so it is rounded before."""
        count = count.normalize() if count == count.to_integral() else count.quantize(Decimal("0.0001"))
        amount = in_minor_units(count * rate, self.currency)
        self.lines.append(
            CostLine(
                kind=kind,
                item=item,
                count=tidy(float(count)),
                unit=unit,
                rate=text_of(rate_of(rate, self.currency)),
                amount=text_of(amount),
                reason=reason,
            )
        )

    def lack(self, kind: Kind, item: str, why: str) -> None:
        """Something without a price."""
        self.without.append(NotPriced(kind=kind, item=item, why=why))

    def said(self, kind: Kind) -> str | UnsetType:
        """The subtotal of a kind; left out where it has no line."""
        return text_of(self.total(kind)) if any(line.kind == kind for line in self.lines) else UNSET

    def total(self, kind: Kind | None = None) -> Decimal:
        """Of a kind, or of all."""
        return sum((Decimal(line.amount) for line in self.lines if kind in (None, line.kind)), Decimal(0))


def decide(needs: CostNeeds, _: Desk) -> Cost:
    """The price of the plan, and its energy."""
    facts, combination = needs.facts, needs.machines.combination
    rates = rates_of(facts)
    used = needs.energy
    currency = currency_of(facts.fleet) or next((price.currency for _, price in rates.given), "")
    if not currency:
        return Cost(None, used, None)
    bill = _Bill(currency)
    _hire(bill, facts, combination, needs.picking.lines)
    _transport(bill, facts, rates, needs.transport)
    _crew(bill, rates, needs.crew)
    _power(bill, rates, needs.supply, used)
    if (total := bill.total()) >= MOST:
        raise refuse("/fleet", f"Its rates make {total:g} {currency} of this hire.", allowed=Allowed(below=float(MOST)))
    block = CostBlock(
        currency=currency,
        lines=tuple(bill.lines),
        hire=bill.said("hire"),
        transport=bill.said("transport"),
        crew=bill.said("crew"),
        fuel=bill.said("fuel"),
        power=bill.said("power"),
        total=text_of(total),
        complete=not bill.without,
        not_priced=tuple(dict.fromkeys(bill.without)),
    )
    return Cost(block, used, machine_hire(facts, combination))


def machine_hire(facts: Facts, combination: Combination) -> Decimal | None:
    """Hire of the machines alone; None where one has no rate."""
    each = [(hire_of(p.machine.hire_rate, p.machine.hire_rates, facts.days), p.count) for p in combination]
    if any(hire is None for hire, _ in each):
        return None
    return sum((hire[0] * count for hire, count in each if hire is not None), Decimal(0))


def least_cost_of(facts: Facts, combination: Combination, net_load: float) -> Decimal:
    """What no plan of a combination is below: hire of its machines, one load there and back, and their energy for a load
    of so many W.
    """
    rates, hire = rates_of(facts), machine_hire(facts, combination) or Decimal(0)
    if not isinstance(rates.transport_load, UnsetType):
        hire += BOTH_WAYS * rates.transport_load.amount
    if facts.order.supply.source == "generator" or isinstance(rates.energy, UnsetType):
        return hire
    share = min(1.0, average_load(facts) * net_load / combination.capacity)
    energy = exactly(combination.power / 1000 * share * 24 * facts.days) * rates.energy.amount
    return hire + max(Decimal(0), energy - ROUNDED)


def _hire(bill: _Bill, facts: Facts, combination: Combination, lines: tuple[PlanPickLine, ...]) -> None:
    machines = {p.machine.type: p.machine for p in combination}
    stock = {a.item: a for a in facts.fleet.accessories}
    for line in lines:
        row = machines.get(line.item) if line.kind == "machine" else stock.get(line.item)
        if line.item == "fuel, litres":
            continue
        hire = None if row is None else hire_of(row.hire_rate, row.hire_rates, facts.days)
        if hire is None:
            why = "The fleet gives no rate of it." if row is not None else "The fleet does not list it."
            bill.lack("hire", line.item, why)
            continue
        rate, periods = hire
        bill.add(
            "hire", line.item, Decimal(line.count), "piece", rate, f"{count_of(facts.days, 'day')}: {periods}, each."
        )


def _transport(bill: _Bill, facts: Facts, rates: Rates, lorries: TransportPlan | None) -> None:
    stated = lorries and lorries.asked
    if not isinstance(stated, Asked):
        bill.lack("transport", "vehicles", "The number of loads is not known.")
        return
    loads, distance = stated.results.number_of_loads, facts.order.site.distance_from_yard
    trips = Decimal(loads * BOTH_WAYS)
    if not isinstance(rates.transport_load, UnsetType):
        reason = f"{count_of(loads, 'load')}, there and back."
        bill.add("transport", "vehicle", trips, "load one way", rates.transport_load.amount, reason)
    per = rates.transport_distance
    if not isinstance(per, UnsetType) and not isinstance(distance, UnsetType):
        way = _in(per, exactly(distance.to("km")))
        reason = f"{count_of(loads, 'load')}, there and back, {way:.5g} {per.per} each way."
        bill.add("transport", "way", trips * way, per.per, Decimal(per.value), reason)
    elif not isinstance(per, UnsetType):
        bill.lack("transport", "way", "`site.distance_from_yard` is not given.")
    if isinstance(rates.transport_load, UnsetType) and isinstance(per, UnsetType):
        bill.lack("transport", "vehicles", "`rates` has neither `transport_load` nor `transport_distance`.")


def _in(price: DistancePrice | FuelPrice, metric: Decimal) -> Decimal:
    """Kilometres or litres in the unit of the price."""
    return metric / {"km": Decimal(1), "L": Decimal(1), "mi": KM_A_MILE, "gal": LITRES_A_GALLON}[price.per]


def _crew(bill: _Bill, rates: Rates, crew: Crew | None) -> None:
    if crew is None or crew.arrival is None:
        bill.lack("crew", "crew", "The order of work is not known.")
        return
    if isinstance(rates.crew_hour, UnsetType):
        bill.lack("crew", "crew", "`rates` has no `crew_hour`.")
        return
    for name, phase in (("setting up", crew.arrival), ("taking away", crew.removal)):
        if phase is None:
            bill.lack("crew", f"crew, {name}", "Its hours are not in the plan.")
            continue
        hours = exactly(tidy(phase.person_time.to("h")))
        reason = f"All people at all steps, {count_of(phase.most, 'person', 'people')} at most at one time."
        bill.add("crew", f"crew, {name}", hours, "hour", rates.crew_hour.amount, reason)


def _power(
    bill: _Bill,
    rates: Rates,
    supply: SupplyPlan | Unanswered | None,
    used: Energy | None,
) -> None:
    on_set = isinstance(supply, SupplyPlan) and supply.set is not None
    kind: Kind = "fuel" if on_set else "power"
    if on_set and isinstance(rates.fuel, UnsetType):
        bill.lack("fuel", "fuel", "`rates` has no `fuel`.")
    elif not on_set and isinstance(rates.energy, UnsetType):
        bill.lack("power", "energy", "`rates` has no `energy`.")
    elif not isinstance(used, Asked):
        why = f"electrical.energy_cost refuses: {used.reason}" if isinstance(used, Unanswered) else "Not known."
        bill.lack(kind, kind, why[:400])
    else:
        for item, count, unit, rate, reason in _power_lines(rates, used):
            bill.add(kind, item, count, unit, rate, reason)


def _power_lines(
    rates: Rates, used: Asked[EnergyCostGiven, EnergyCostResults]
) -> Iterator[tuple[str, Decimal, str, Decimal, str]]:
    results, hours = used.results, used.given.duration.to("h")
    if not isinstance(results.fuel_volume, UnsetType) and not isinstance(rates.fuel, UnsetType):
        volume = _in(rates.fuel, exactly(results.fuel_volume.to("L")))
        yield "fuel", volume, rates.fuel.per, Decimal(rates.fuel.value), f"{hours:g} h at {results.average_power}."
        return
    if not isinstance(rates.energy, UnsetType):
        energy = exactly(results.energy.to("kWh"))
        yield "energy", energy, "kWh", rates.energy.amount, f"{hours:g} h at {results.average_power}."
    if not isinstance(rates.demand, UnsetType) and not isinstance(results.billing_months, UnsetType):
        demand = exactly(used.given.active_power.to("kW")) * results.billing_months
        reason = f"{used.given.active_power} in {count_of(results.billing_months, 'billing month')}."
        yield "demand", demand, "kW and month", rates.demand.amount, reason


COST = Block("cost", CostNeeds, (), decide)
