"""Which limit is met first if the day is hotter, the run longer, the load bigger."""

from typing import Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import tidy
from coldwright.contract.people import UNIT_SIGNS
from coldwright_basis.compare import negligible
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_booking.answer.results import Headroom, NearLimit
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.cable import MachineCable
from coldwright_booking.plan.desk import Asked
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.machines import Picked
from coldwright_booking.plan.plan import Plan
from coldwright_booking.plan.supply import SupplyPlan
from coldwright_site.sound.given import SoundGiven
from coldwright_site.sound.results import SoundResults

MOST_LISTED = 40


class _Limits:
    def __init__(self) -> None:
        self.listed: list[NearLimit] = []

    def upper(self, what: str, value: float, limit: float, unit: str, calculator: str) -> None:
        """A value that must stay below."""
        if limit > 0:
            self._add(what, value, limit, unit, 1 - value / limit, calculator)

    def lower(self, what: str, value: float, limit: float, unit: str, calculator: str) -> None:
        """A value that must stay above."""
        if limit > 0:
            self._add(what, value, limit, unit, value / limit - 1, calculator)

    def kelvins(self, what: str, value: float, limit: float, room: float, calculator: str) -> None:
        """Temperatures in degC; a share of the limit means nothing, since their zero means nothing."""
        self._add(what, value, limit, "degC", room, calculator, "K")

    def decibels(self, what: str, value: float, limit: float, calculator: str) -> None:
        """Levels of sound."""
        self._add(what, value, limit, "dBA", limit - value, calculator, "dB")

    def _add(
        self,
        what: str,
        value: float,
        limit: float,
        unit: str,
        headroom: float,
        calculator: str,
        measured_in: Literal["K", "dB"] | None = None,
    ) -> None:
        left = 0.0 if negligible(headroom, 1.0) else tidy(headroom)
        self.listed.append(
            NearLimit(
                what=what,
                value=tidy(value),
                limit=tidy(limit),
                unit=unit,
                headroom_fraction=left if measured_in is None else UNSET,
                headroom=UNSET if measured_in is None else Headroom(value=left, unit=measured_in),
                calculator=calculator,
            )
        )


def room(entry: NearLimit) -> str:
    """Headroom in words: in dB and K where a share of the limit means nothing, else in percent."""
    if isinstance(entry.headroom, UnsetType):
        return f"{_signed(100 * entry.room)} %"
    return f"{_signed(entry.headroom.value)} {UNIT_SIGNS.get(entry.headroom.unit, entry.headroom.unit)}"


def excess(entry: NearLimit) -> str:
    """By how much a limit is broken, in words: `5.6 dB`."""
    return room(entry).removeprefix("-")


def _signed(value: float) -> str:
    """To a tenth; what lies beyond its limit by less keeps its first digit, so that no minus stands before 0.0."""
    return f"{value:.1g}" if -0.05 <= value < 0 else f"{value:.1f}"


def nearest(plan: Plan) -> tuple[NearLimit, ...]:
    """All limits, nearest first."""
    limits, facts = _Limits(), plan.facts
    if not plan.combination:
        return ()
    limits.lower(
        "capacity above the design load",
        plan.combination.capacity / 1000,
        plan.load.design.to("kW"),
        "kW",
        "refrigeration.selection",
    )
    for picked in plan.combination:
        _envelope(limits, facts, plan, picked)
    if isinstance(plan.supply, SupplyPlan):
        _supply(limits, facts, plan.supply)
    for cable in plan.cable.machines if plan.cable else ():
        _cable(limits, cable)
    if isinstance(plan.loop, LoopPlan):
        _loop(limits, plan, plan.loop)
    _site(limits, plan)
    return tuple(sorted(limits.listed, key=lambda entry: entry.nearness)[:MOST_LISTED])


def _envelope(limits: _Limits, facts: Facts, plan: Plan, picked: Picked) -> None:
    name, envelope = picked.machine.type, picked.machine.envelope
    ambient, leaving = facts.order.site.design_ambient_temperature, facts.order.duty.leaving_temperature
    by = "refrigeration.capacity"
    if envelope.ambient_maximum is not UNSET:
        most = envelope.ambient_maximum
        limits.kelvins(f"{name}: hottest air", ambient.to("degC"), most.to("degC"), most.si - ambient.si, by)
    if envelope.ambient_minimum is not UNSET and facts.coldest_still is not None:
        least, coldest = envelope.ambient_minimum, facts.coldest_still
        limits.kelvins(f"{name}: coldest air", coldest - ZERO_CELSIUS, least.to("degC"), coldest - least.si, by)
    least_leaving = envelope.leaving_minimum if plan.liquid.is_water else envelope.leaving_minimum_with_antifreeze
    if least_leaving is not UNSET:
        limits.kelvins(
            f"{name}: coldest leaving liquid",
            leaving.to("degC"),
            least_leaving.to("degC"),
            leaving.si - least_leaving.si,
            by,
        )


def _supply(limits: _Limits, facts: Facts, supply: SupplyPlan) -> None:
    stated, feeder = facts.order.supply, supply.service.results.feeder
    ampacity = feeder.minimum_circuit_ampacity.to("A")
    if stated.source == "site" and supply.transformer is None:
        for what, limit in (
            ("breaker of the site", stated.breaker_rating),
            ("current of the site", stated.available_current),
        ):
            if limit is not UNSET:
                limits.upper(f"circuit ampacity on the {what}", ampacity, limit.to("A"), "A", "electrical.service")
    if isinstance(supply.generator, Asked):
        results, given = supply.generator.results, supply.generator.given
        by = "electrical.generator"
        if results.load_fraction is not UNSET:
            limits.upper("load of the generating set", results.load_fraction, given.maximum_load_fraction, "1", by)
        if results.reduced_load_fraction is not UNSET:
            low = results.reduced_load_fraction
            banked = not isinstance(bank := given.load_bank_power, UnsetType) and bank.value > 0
            light = "light load of the generating set" + (", with the load bank" if banked else "")
            limits.lower(light, low, given.minimum_load_fraction, "1", by)
        if results.worst_dip_fraction is not UNSET:
            limits.upper("voltage dip at a start", results.worst_dip_fraction, given.dip_limit_fraction, "1", by)
    if (needed := supply.primary_current) is not None:
        for offered, what in ((stated.breaker_rating, "site breaker"), (stated.available_current, "site supply")):
            if offered is not UNSET:
                name = f"{what}: circuit ampacity before the transformer"
                limits.upper(name, needed.to("A"), offered.to("A"), "A", "electrical.service")
    if isinstance(supply.transformer, Asked):
        results_t, load = supply.transformer.results, supply.transformer.given.load_apparent_power
        limits.upper(
            "load of the transformer", load.to("kVA"), results_t.rated_apparent_power.to("kVA"), "kVA",
            "electrical.transformer",
        )  # fmt: skip


def _cable(limits: _Limits, cable: MachineCable) -> None:
    name = cable.picked.machine.type
    if isinstance(cable.asked, Asked):
        results, given, by = cable.asked.results, cable.asked.given, "electrical.feeder"
        limits.lower(
            f"{name}: ampacity of the cable", results.ampacity_deciding.to("A"), given.minimum_ampacity.to("A"), "A", by
        )
        limits.upper(f"{name}: length of the cable", given.length.to("m"), results.longest_run.to("m"), "m", by)
    rating = cable.picked.machine.electrical.short_circuit_rating
    if isinstance(cable.fault, Asked) and rating is not UNSET:
        current = cable.fault.results.fault_current_with_motors.to("A")
        limits.upper(f"{name}: fault current", current, rating.to("A"), "A", "electrical.fault_current")


def _loop(limits: _Limits, plan: Plan, loop: LoopPlan) -> None:
    results, given, by = loop.asked.results, loop.asked.given, "hydronic.loop"
    flow = results.duty_flow
    if flow is not UNSET:
        if loop.own_pumps:
            limits.lower("above design flow", _pump_flow(loop), loop.wanted.to("L/s"), "L/s", by)
        least = sum(p.machine.evaporator.flow_minimum.to("L/s") * p.count for p in plan.combination)
        most = sum(p.machine.evaporator.flow_maximum.to("L/s") * p.count for p in plan.combination)
        limits.lower("above evaporator minimum flow", flow.to("L/s"), least, "L/s", by)
        limits.upper("below evaporator maximum flow", flow.to("L/s"), most, "L/s", by)
    for head in loop.heads:
        limits.upper(f"{head.type}: head of its own pump", head.wanted.to("m"), head.gives.to("m"), "m", by)
    speeds = [e.velocity.to("m/s") for e in results.elements if not isinstance(e.velocity, UnsetType)]
    if speeds:
        limits.upper("velocity in the hose", max(speeds), given.velocity_maximum.to("m/s"), "m/s", by)
    if results.highest_pressure is not UNSET and loop.hose.working_pressure is not UNSET:
        highest = results.highest_pressure.value.to("kPa")
        limits.upper("pressure in the hose", highest, loop.hose.working_pressure.to("kPa"), "kPa", by)


def _pump_flow(loop: LoopPlan) -> float:
    """What the pumps do; a balanced loop has more to give than it shows, by what the valve takes."""
    results = loop.asked.results
    assert results.duty_flow is not UNSET  # noqa: S101 - the caller has looked
    flow = results.duty_flow.to("L/s")
    if loop.balancing_kv is None or results.loop_pressure_drop is UNSET:
        return flow
    valve = next((e.pressure_drop.si for e in results.elements if e.name == "balancing valve"), 0.0)
    return float(flow * (results.loop_pressure_drop.si / max(results.loop_pressure_drop.si - valve, 1.0)) ** 0.5)


def _site(limits: _Limits, plan: Plan) -> None:
    if plan.site is None:
        return
    if isinstance(plan.site.sound, Asked):
        _sound(limits, plan.site.sound)
    for machine, asked in plan.site.grounds:
        if isinstance(asked, Asked) and asked.results.utilisation is not UNSET:
            limits.upper(f"{machine.type}: ground", asked.results.utilisation, 1.0, "1", "site.ground")


def _sound(limits: _Limits, asked: Asked[SoundGiven, SoundResults]) -> None:
    for place, stated in zip(asked.results.receivers, asked.given.receivers, strict=True):
        for when, margin, limit in (
            ("day", place.margin_day, stated.limit_day),
            ("night", place.margin_night, stated.limit_night),
        ):
            if margin is not UNSET and limit is not UNSET:
                limits.decibels(f"sound by {when} at {place.id}", limit.value - margin.value, limit.value, "site.sound")
