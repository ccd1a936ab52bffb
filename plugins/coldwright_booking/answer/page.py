"""The plan of a booking, laid out for the people who sell it, load it, connect it and answer for it."""

from collections.abc import Iterator, Sequence

from msgspec import UnsetType
from msgspec.structs import replace

from coldwright.contract.page import (
    Bars,
    Block,
    Column,
    Lane,
    Lines,
    Occasion,
    Page,
    Section,
    Shape,
    Slot,
    Span,
    Standard,
    Table,
    Tone,
    facts,
    present,
    section,
    under,
)
from coldwright.contract.people import (
    clock,
    count_of,
    fraction,
    label,
    plain_text,
    prose,
    quantity,
    rounded,
    share,
    value_text,
    words,
)
from coldwright.contract.quantities import Duration
from coldwright_basis.compare import below
from coldwright_basis.ratings import Practice
from coldwright_basis.speech import Speech
from coldwright_basis.trade_words import word
from coldwright_booking.answer import (
    page_cost,
    page_facts,
    page_loading,
    page_parts,
    page_people,
    page_pictures,
    page_use,
)
from coldwright_booking.answer.crew_machine import measured
from coldwright_booking.answer.crew_page import crew_page
from coldwright_booking.answer.crew_work import beginnings
from coldwright_booking.answer.limits import room
from coldwright_booking.answer.page_cautions import cautions, true_of
from coldwright_booking.answer.plan_answer import PlanAnswer
from coldwright_booking.answer.results import (
    Alternative,
    AssessmentResults,
    FailedCombination,
    MachineCount,
    PlannedMachine,
)
from coldwright_booking.order.facts import FROST
from coldwright_booking.order.given import Order
from coldwright_readiness.procedure import ProcedureResults

VERDICTS: dict[str, tuple[Tone, Shape, str]] = {
    "acceptable": ("good", "ready", "GOES: no stop and no check"),
    "conditional": ("care", "check", "OK subject to {checks}"),
    "unacceptable": ("bad", "stop", "DOES NOT GO as it stands"),
}


def plan_page(answer: PlanAnswer, occasion: Occasion) -> Page:
    """The plan, for people: a line for each block with the rest folded away, or everything where that was asked for.

    For a crew the sheet that it carries.
    """
    if occasion.sheet == "crew":
        return crew_page(answer, occasion)
    results, order, everything = answer.results, answer.given, occasion.details
    worth_knowing = count_of(sum(f.severity == "note" for f in answer.findings), "note")
    tone, shape, verdict = VERDICTS[answer.outcome]
    verdict = verdict.format(checks=count_of(sum(f.severity == "check" for f in answer.findings), "check"))
    revision = f", revision {occasion.revision}" if occasion.revision else ""
    return Page(
        kind="Plan",
        title=plain_text(f"Order {order.reference}{revision}"),
        tone=tone,
        verdict=verdict,
        lead=tuple(_lead(answer)),
        sections=present(
            (
                Standard("findings", "Stops: what must change first", ("stop",)),
                Standard("findings", "Checks: somebody must look before it goes", ("check",), once=True),
                section("Order", _order(order, results)),
                section("Margin", page_pictures.room_left(results.limits_nearest), fact=page_facts.limits(results)),
                *(_summed_up(part, fact, everything) for part, fact in _blocks(results)),
                page_parts.standing(results, closed=not everything),
                page_pictures.pictures(results, closed=not everything),
                page_loading.loading(results, everything, occasion.serials),
                _arrival(results, Speech("en", order.practice), everything),
                _summed_up(page_people.people(results), page_people.fact(results), everything),
                _summed_up(page_cost.cost(results, order.practice), page_cost.fact(results), everything),
                _questions(results, order.practice),
                *(_summed_up(part, fact, everything) for part, fact in _compared(results, everything)),
                Standard("parts"),
                Standard("findings", "Worth knowing", ("note",), fact=worth_knowing, folded=not everything),
                *(
                    (Standard("cautions"),)
                    if everything
                    else cautions(answer.cautions, order.practice, _true_of(answer), _frost(order))
                ),
                Standard("assumptions", closed=not everything),
                Standard("defaults") if everything else None,
                Standard("sources", cited=not everything, closed=not everything),
            )
        ),
        rest="What is summed up in a line is in full in the HTML page, and in every form with details=all, which also lists "
        "the values taken by default.",
        shape=shape,
    )


def _true_of(answer: PlanAnswer) -> frozenset[str]:
    supply = answer.results.supply
    generator = not isinstance(supply, UnsetType) and supply.source != "site"
    return true_of(answer.given.practice, answer.results.fluid.kind, generator=generator)


def _frost(order: Order) -> bool:
    coldest = order.site.lowest_ambient_temperature
    return order.site.indoors is not True and not isinstance(coldest, UnsetType) and below(coldest.si, FROST)


def _blocks(results: AssessmentResults) -> Iterator[tuple[Section | None, str]]:
    """The technical blocks, each with its fact."""
    yield _machines(results), page_facts.machines(results)
    yield page_parts.supply(results), page_facts.supply(results)
    yield page_parts.cable(results), page_facts.cable(results)
    yield page_parts.loop(results), page_facts.loop(results)
    yield page_parts.liquid(results), page_facts.liquid(results)
    yield page_parts.place(results), page_facts.place(results)
    yield page_use.in_use(results), page_use.fact(results)


def _compared(results: AssessmentResults, everything: bool) -> Iterator[tuple[Section | None, str]]:
    """Limits and other combinations, each with its fact."""
    if everything:
        yield _limits(results), page_facts.limits(results)
    yield _alternatives(results), page_facts.alternatives(results)


def _summed_up(part: Section | None, fact: str, everything: bool) -> Section | None:
    return part and replace(part, fact=fact, folded=not everything and bool(fact))


def _lead(answer: PlanAnswer) -> Iterator[str]:
    results = answer.results
    counts = [(sum(f.severity == s for f in answer.findings), s) for s in ("stop", "check", "note")]
    tally = ", ".join(count_of(n, s) for n, s in counts if n) or "no findings"
    yield f"{tally.capitalize()}, {count_of(len(results.open_questions), 'open question')}."
    if results.machines:
        yield f"{_combination(results.machines)}."
    if not isinstance(results.cold_water_after, UnsetType):
        yield f"Cold water {quantity(results.cold_water_after)} after arrival at the earliest."


def _order(order: Order, results: AssessmentResults) -> Block | None:
    period, duty, site = order.period, order.duty, order.site
    in_parts = f"{quantity(results.load.net)} in {count_of(len(duty.loads), 'part')}"
    return facts(
        ("Site", plain_text(site.name)),
        (word("hire", order.practice).capitalize(), f"{period.from_} to {period.to}"),
        ("Load", in_parts if isinstance(duty.load, UnsetType) else quantity(measured(duty.load, results))),
        ("Leaving temperature", quantity(measured(duty.leaving_temperature, results))),
        ("Design ambient", quantity(measured(site.design_ambient_temperature, results))),
        ("Practice", {"nec": "NEC (North America)", "iec": "IEC"}[order.practice]),
    )


def _machines(results: AssessmentResults) -> Section | None:
    rows = tuple(
        (
            plain_text(m.type),
            str(m.count),
            quantity(m.capacity_each),
            quantity(m.capacity_total),
            quantity(m.power_each),
            words(m.source),
            "; ".join(plain_text(limit) for limit in m.limits),
        )
        for m in results.machines
    )
    columns = (
        Column("Type", 22),
        Column("No.", 9, number=True),
        Column("Each", 13, number=True),
        Column("Together", 13, number=True),
        Column("Power each", 13, number=True),
        Column("From", 11),
        Column("Near its limit", 24),
    )
    block = facts(
        ("Capacity over the load, without margin", share(results.margin_fraction)),
        ("Spare", page_facts.SPARE[results.redundancy]),
        (
            "Load met with the spare out of service",
            "" if results.redundancy == "none" else value_text(results.redundancy_met),
        ),
    )
    return section("Machines", Table(columns, rows) if rows else None, page_parts.energy(results), block)


def _arrival(results: AssessmentResults, speech: Speech, everything: bool) -> Section | None:
    plan = results.arrival_plan
    if isinstance(plan, UnsetType):
        return None
    begin = beginnings(plan)
    rows = tuple(
        (
            clock(begin[step.id]),
            _clock(begin[step.id].to("h") + step.earliest_finish.to("h") - step.earliest_start.to("h")),
            plain_text(speech.known(step.title)) + (" *" if step.critical else ""),
            "by itself" if step.role == "none" else words(step.role),
            prose(step.acceptance),
        )
        for step in sorted(plan.steps, key=lambda s: (begin[s.id].value, s.earliest_finish.value))
    )
    columns = (
        Column("From", 8, number=True),
        Column("Until", 8, number=True),
        Column("Do", 30),
        Column("Who", 14),
        Column("Good when", 40),
    )
    block = facts(
        ("First compressor", _after(plan.time_to_first_compressor)),
        ("Cold water", _after(plan.time_to_cold_water)),
    )
    table = Table(columns, rows) if everything else None
    note = Lines(("Hours and minutes after arrival, with people enough. A star: any delay here delays cold water.",))
    if table is None:
        note = Lines(
            ("Filled bars: any delay here delays cold water. What makes each step good is on the crew sheet.",)
        )
    return section("Order of work", block, _bars(plan, speech), table, note)


def _bars(plan: ProcedureResults, speech: Speech) -> Bars:
    """Who does what when, in hours after arrival."""
    lanes: dict[str, list[Span]] = {}
    begin = beginnings(plan)
    for step in sorted(plan.steps, key=lambda s: (begin[s.id].value, s.earliest_finish.value)):
        role = "by itself" if step.role == "none" else words(step.role)
        start = begin[step.id].to("h")
        end = start + step.earliest_finish.to("h") - step.earliest_start.to("h")
        lanes.setdefault(role, []).append(Span(start, end, plain_text(speech.known(step.title)), step.critical))
    ordered = tuple(Lane(role, tuple(spans)) for role, spans in lanes.items())
    texts = (f"{lane.name}: " + ", ".join(f"{_clock(s.start)} {s.text}" for s in lane.spans) for lane in ordered)
    return Bars("Who does what, in hours after arrival", "Hours after arrival", ordered, "; ".join(texts) + ".")


def _clock(hours: float) -> str:
    return clock(Duration.of(hours * 60, "min"))


def _after(value: Duration | UnsetType) -> str:
    return "" if isinstance(value, UnsetType) else f"{quantity(value)} after arrival"


def _questions(results: AssessmentResults, practice: Practice) -> Section | None:
    hire = f"{word('hire', practice)} company"
    ordered = sorted(results.open_questions, key=lambda q: not q.decides)
    rows = tuple(
        (
            pointer_words(q.field) + (" *" if q.decides else ""),
            _assumed(q.field, q.assumed),
            prose(rounded(q.effect)),
            hire if q.who == "hire_company" else words(q.who),
        )
        for q in ordered
    )
    columns = (Column("Not given", 24), Column("We assumed", 26), Column("Affects", 34), Column("Who knows", 16))
    note = Lines(("A star: the answer could turn this plan.",)) if any(q.decides for q in ordered) else None
    return section("Open questions", *((Table(columns, rows), Slot("answers")) if rows else ()), note)


def _assumed(field: str, text: str) -> str:
    """A fraction as percent."""
    try:
        return fraction(float(text)) if field.endswith("_fraction") else prose(rounded(text))
    except ValueError:
        return prose(rounded(text))


def pointer_words(pointer: str) -> str:
    """`/load_side/rated_pressure_drop` as `Load side, rated pressure drop`."""
    steps = [words(step) for step in pointer.removeprefix("#").strip("/").split("/") if step]
    text = ", ".join(f"number {int(s) + 1}" if s.isdecimal() else s for s in steps)
    return label(text) or "The order"


def _limits(results: AssessmentResults) -> Section | None:
    rows = tuple(
        (
            plain_text(limit.what),
            page_parts.limit_text(limit.value, limit.unit),
            page_parts.limit_text(limit.limit, limit.unit),
            room(limit),
        )
        for limit in results.limits_nearest
    )
    columns = (
        Column("What", 46),
        Column("Value", 18, number=True),
        Column("Limit", 18, number=True),
        Column("Margin", 18, number=True),
    )
    return section("Limits, nearest first", Table(columns, rows) if rows else None)


def _alternatives(results: AssessmentResults) -> Section | None:
    left_out = tuple(plain_text(f"{t.type}: {t.reason}") for t in results.types_left_out)
    others = tuple(map(_would_do, results.alternatives))
    failed = tuple(map(_fails, results.failed_combinations))
    return section(
        "Other combinations",
        *under("Also suitable", Lines(others) if others else None),
        *under("Enough capacity, but breaks a rule", Lines(failed) if failed else None),
        *under("Types that cannot be used here", Lines(left_out) if left_out else None),
    )


def _would_do(alternative: Alternative) -> str:
    return f"{_combination(alternative.machines)}: {prose(alternative.why_not_first)}"


def _fails(failed: FailedCombination) -> str:
    return f"{_combination(failed.machines)}: {', '.join(words(rule) for rule in failed.failed)}"


def _combination(machines: Sequence[MachineCount | PlannedMachine]) -> str:
    return ", ".join(plain_text(f"{m.count} x {m.type}") for m in machines)
