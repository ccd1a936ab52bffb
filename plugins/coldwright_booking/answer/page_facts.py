"""What each block of a plan says in one line: the line that stays where the rest is folded away."""

from math import floor

from msgspec import UnsetType

from coldwright.contract.people import count_of, fraction, plain_text, quantity, share, value_text, words
from coldwright.contract.quantities import Duration, Quantity
from coldwright_basis.compare import above
from coldwright_booking.answer.limits import excess, room
from coldwright_booking.answer.results import AssessmentResults
from coldwright_electrical.service.results import ServiceResults

SPARE = {"none": "none", "spare_machine": "one machine", "spare_circuit": "one circuit"}
"""What may be out of service with the load still met, as every line of the plan calls it."""


def refuel_every(interval: Duration | UnsetType) -> str:
    """In whole hours, rounded down: nobody comes at 19 h 56 min, and later than that the tank may be dry."""
    if isinstance(interval, UnsetType):
        return ""
    hours = floor(interval.to("h"))
    return quantity(Duration(hours, "h") if hours >= LEAST_HOURS else interval)


LEAST_HOURS = 2
"""From which on hours are whole."""


def joined(*parts: str) -> str:
    """Those that are known, with semicolons, as a sentence begins."""
    text = "; ".join(part for part in parts if part)
    return text[:1].upper() + text[1:]


def said(before: str, value: Quantity | UnsetType, after: str = "") -> str:
    """A quantity with words about it; nothing where it is left out."""
    return "" if isinstance(value, UnsetType) else f"{before}{quantity(value)}{after}"


def machines(results: AssessmentResults) -> str:
    """Which, how much they do, how much is over."""
    if not results.machines:
        return ""
    each = ", ".join(plain_text(f"{m.count} x {m.type}") + f", {quantity(m.capacity_total)}" for m in results.machines)
    over = share(results.margin_fraction)
    needed = (
        ""
        if isinstance(results.load, UnsetType)
        else f" of {quantity(results.load.gross)} with the heat of hoses and pumps"
    )
    return joined(each, f"{over} over the load{needed}" if over else "", f"spare: {SPARE[results.redundancy]}")


def supply(results: AssessmentResults) -> str:
    """Who feeds, at what voltage, behind which breaker."""
    block = results.supply
    if isinstance(block, UnsetType):
        return ""
    item = "" if isinstance(block.generator_item, UnsetType) else plain_text(block.generator_item)
    feeder = block.service.feeder
    return joined(
        item or f"From: {words(block.source)}",
        quantity(block.voltage),
        said("must carry ", feeder.minimum_circuit_ampacity),
        said("breaker of ", feeder.smallest_workable_standard, " or more, on conductors that carry it")
        if follows_conductors(block.service)
        else said("breaker at most ", feeder.maximum_overcurrent_standard),
    )


def follows_conductors(service: ServiceResults) -> bool:
    """Whether the feeder's breaker must follow larger conductors: no standard one suits those that the load alone asks for."""
    least, most = service.feeder.smallest_workable_standard, service.feeder.maximum_overcurrent_standard
    if isinstance(least, UnsetType) or isinstance(most, UnsetType) or service.fit.verdict == "does_not_fit":
        return False
    return above(least.si, most.si)


def cable(results: AssessmentResults) -> str:
    """Size and sets for each type."""
    block = results.cable
    if isinstance(block, UnsetType):
        return ""
    return joined(
        *(
            f"{plain_text(m.type)}: {value_text(m.feeder.conductor_size)}, {count_of(m.feeder.sets, 'set')}"
            + said(", carries ", m.feeder.ampacity_deciding)
            for m in block.machines
        )
    )


def loop(results: AssessmentResults) -> str:
    """Flow, hose, drop."""
    block = results.loop
    if isinstance(block, UnsetType):
        return ""
    return joined(
        said("flow ", block.duty_flow),
        f"hose {quantity(block.hose_inner_diameter)} bore, {count_of(block.hose_runs, 'run')} each way",
        said("loop drop ", block.loop_pressure_drop),
        f"the {words(block.pump_owner)}'s pump",
    )


def liquid(results: AssessmentResults) -> str:
    """What, how much, to which pressure."""
    block = results.fluid
    strength = (
        share(block.mass_fraction) if not isinstance(block.mass_fraction, UnsetType) and block.mass_fraction else ""
    )
    fill = results.fill
    return joined(
        words(block.kind) + (f", {strength} by mass" if strength else ""),
        "" if isinstance(fill, UnsetType) else said("loop ", fill.total_volume),
        said("fill to ", results.fill_pressure, ", pump off"),
    )


def place(results: AssessmentResults) -> str:
    """Weight on the hook, share of the ground, sound."""
    block = results.site
    if isinstance(block, UnsetType):
        return ""
    hooks = [m.lift.hook_load for m in block.lift]
    worst = max((u for m in block.ground if not isinstance(u := m.ground.utilisation, UnsetType)), default=None)
    return joined(
        ", ".join(said("on the hook ", h.mass) for h in hooks if not isinstance(h, UnsetType)),
        "" if worst is None else f"ground pressure {fraction(worst)} of allowable",
        "" if isinstance(block.sound, UnsetType) or not block.sound.receivers else "sound checked",
    )


def limits(results: AssessmentResults) -> str:
    """The nearest."""
    nearest = results.limits_nearest
    if not nearest:
        return ""
    first = nearest[0]
    return f"Nearest: {plain_text(first.what)}, " + (
        f"{room(first)} left" if first.nearness >= 0 else f"beyond it by {excess(first)}"
    )


def alternatives(results: AssessmentResults) -> str:
    """How many."""
    failed, others = len(results.failed_combinations), len(results.alternatives)
    return joined(
        f"{others} also suitable" if others else "",
        f"{failed} with enough capacity {'breaks' if failed == 1 else 'break'} a rule" if failed else "",
    )
