"""The plan of a booking, laid out for the people who sell it, load it, connect it and answer for it."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from coldwright.sheets import plan_parts
from coldwright.sheets.notes import (
    LAST_WORD,
    TONES,
    Answer,
    assumption_section,
    caution_section,
    finding_notice,
    findings_section,
    of_severity,
    present,
    stamp,
    tally,
)
from coldwright.sheets.page import Block, Column, Lines, Notice, Notices, Section, Sheet, Table, facts, section
from coldwright.sheets.people import clock, count_of, fraction, label, plain_text, quantity, value_text, words
from coldwright.sheets.sources import Sources, source_section

ASSESSMENT = "booking.assessment"
"""The calculator whose answers are laid out as a plan."""

VERDICTS = {
    "acceptable": "GOES: nothing that is known stands against it",
    "conditional": "GOES once the checks are settled",
    "unacceptable": "DOES NOT GO as it stands",
}


def plan_sheet(answer: Answer, sources: Sources, *, revision: int = 0) -> Sheet:
    """The answer of `booking.assessment` as a plan."""
    results, order = answer["results"], answer["given"]
    return Sheet(
        kind="Plan",
        title=plain_text(f"Order {order['reference']}" + (f", revision {revision}" if revision else "")),
        tone=TONES[answer["outcome"]],
        verdict=VERDICTS[answer["outcome"]],
        lead=tuple(_lead(answer)),
        sections=present(
            (
                findings_section(answer, sources, ("stop",), "Stops: what must change first"),
                _checks(answer, sources),
                section("Order", _order(order)),
                _machines(results),
                plan_parts.supply(results),
                plan_parts.cable(results),
                plan_parts.loop(results),
                plan_parts.liquid(results),
                plan_parts.place(results),
                _pick_list(results),
                _arrival(results),
                _questions(results),
                _limits(results),
                _alternatives(results),
                findings_section(answer, sources, ("note",), "Worth knowing"),
                caution_section(answer, sources),
                assumption_section(answer, sources, defaults=False),
                assumption_section(answer, sources, defaults=True),
                source_section(answer, sources),
            )
        ),
        foot=(LAST_WORD, stamp(answer)),
    )


def _lead(answer: Answer) -> Iterator[str]:
    results = answer["results"]
    yield f"{tally(answer).capitalize()}, {count_of(len(results['open_questions']), 'open question')}."
    if machines := results["machines"]:
        yield f"{_combination(machines)}."
    if "cold_water_after" in results:
        yield f"Cold water {quantity(results['cold_water_after'])} after arrival at the earliest."


def _several(machine: Mapping[str, Any]) -> str:
    return plain_text(f"{machine['count']} x {machine['type']}")


def _order(order: Mapping[str, Any]) -> Block | None:
    period, duty, site = order["period"], order["duty"], order["site"]
    load = duty.get("load")
    return facts(
        ("Site", plain_text(site.get("name", ""))),
        ("Hire", f"{period['from']} to {period['to']}"),
        ("Load", quantity(load) if load else count_of(len(duty.get("loads", ())), "part")),
        ("Leaving temperature", quantity(duty["leaving_temperature"])),
        ("Hottest air to plan for", quantity(site["design_ambient_temperature"])),
        ("Practice", {"nec": "NEC (North America)", "iec": "IEC"}[order["practice"]]),
    )


def _machines(results: Mapping[str, Any]) -> Section | None:
    rows = tuple(
        (
            plain_text(m["type"]),
            str(m["count"]),
            quantity(m["capacity_each"]),
            quantity(m["capacity_total"]),
            quantity(m["power_each"]),
            words(m["source"]),
            "; ".join(plain_text(limit) for limit in m["limits"]),
        )
        for m in results["machines"]
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
    spare = results["redundancy"]
    block = facts(
        ("Capacity over the load, without margin", plan_parts.text_at(results, "margin_fraction")),
        ("What may fail", "nothing" if spare == "none" else words(spare).removeprefix("spare ")),
        ("The load is met with that failed", "" if spare == "none" else value_text(results["redundancy_met"])),
    )
    return section("Machines", Table(columns, rows) if rows else None, plan_parts.energy(results), block)


def _pick_list(results: Mapping[str, Any]) -> Section | None:
    rows = tuple(
        (
            f"{line['count']:,}",
            plain_text(line["item"]),
            _short(line),
            plain_text(line["reason"]),
            plain_text(line["calculator"]),
        )
        for line in results["pick_list"]
    )
    columns = (
        Column("Count", 7, number=True),
        Column("Item", 30),
        Column("In stock", 11),
        Column("Why", 34),
        Column("Asked by", 22),
    )
    return section("What to load", Table(columns, rows) if rows else None)


def _short(line: Mapping[str, Any]) -> str:
    if not line["from_stock"]:
        return "not listed"
    return f"SHORT {line.get('short_by', 0):,}" if line["stock_short"] else "yes"


def _arrival(results: Mapping[str, Any]) -> Section | None:
    plan = results.get("arrival_plan")
    if not plan:
        return None
    rows = tuple(
        (
            clock(step["earliest_start"]),
            clock(step["earliest_finish"]),
            plain_text(step["title"]) + (" *" if step["critical"] else ""),
            "" if step["role"] == "none" else words(step["role"]),
            plain_text(step["acceptance"]),
        )
        for step in sorted(plan["steps"], key=lambda s: (s["earliest_start"]["value"], s["earliest_finish"]["value"]))
    )
    columns = (
        Column("From", 8, number=True),
        Column("Until", 8, number=True),
        Column("Do", 30),
        Column("Who", 14),
        Column("Good when", 40),
    )
    block = facts(
        ("First compressor", _after(plan.get("time_to_first_compressor"))),
        ("Cold water", _after(plan.get("time_to_cold_water"))),
    )
    note = Lines(("Hours and minutes after arrival, with people enough. A star: any delay here delays cold water.",))
    return section("Order of work", block, Table(columns, rows), note)


def _after(value: Mapping[str, Any] | None) -> str:
    return f"{quantity(value)} after arrival" if value else ""


def _questions(results: Mapping[str, Any]) -> Section | None:
    ordered = sorted(results["open_questions"], key=lambda q: not q.get("decides", False))
    notices = tuple(
        Notice(
            "ask",
            f"{pointer_words(q['field'])}" + (" (the answer could turn this plan)" if q.get("decides") else ""),
            tuple(
                (name, text)
                for name, text in (
                    ("Taken meanwhile", value_text(q["assumed"])),
                    ("Moves", plain_text(q["effect"])),
                    ("Ask", words(q["who"])),
                )
                if text
            ),
        )
        for q in ordered
    )
    return section("What nobody has told us yet", Notices(notices) if notices else None)


def pointer_words(pointer: str) -> str:
    """`/load_side/rated_pressure_drop` as `Load side, rated pressure drop`."""
    steps = [words(step) for step in pointer.removeprefix("#").strip("/").split("/") if step]
    text = ", ".join(f"number {int(s) + 1}" if s.isdecimal() else s for s in steps)
    return label(text) or "The order"


def _limits(results: Mapping[str, Any]) -> Section | None:
    us = results["design_load"]["unit"] == "ton"
    rows = tuple(
        (
            plain_text(limit["what"]),
            plan_parts.limit_text(limit["value"], limit["unit"], us=us),
            plan_parts.limit_text(limit["limit"], limit["unit"], us=us),
            fraction(limit["headroom_fraction"]),
        )
        for limit in results["limits_nearest"]
    )
    columns = (
        Column("What", 46),
        Column("Value", 18, number=True),
        Column("Limit", 18, number=True),
        Column("Room left", 18, number=True),
    )
    return section("What binds first", Table(columns, rows) if rows else None)


def _alternatives(results: Mapping[str, Any]) -> Section | None:
    others = tuple(f"{_combination(a['machines'])}: {plain_text(a['why_not_first'])}" for a in results["alternatives"])
    failed = tuple(
        f"{_combination(f['machines'])}: {', '.join(words(rule) for rule in f['failed'])}"
        for f in results["failed_combinations"]
    )
    left_out = tuple(plain_text(f"{t['type']}: {t['reason']}") for t in results["types_left_out"])
    return section(
        "What else would do, and what would not",
        *plan_parts.under("Would do", Lines(others) if others else None),
        *plan_parts.under("Has the capacity and fails", Lines(failed) if failed else None),
        *plan_parts.under("Types that cannot be used here", Lines(left_out) if left_out else None),
    )


def _combination(machines: Sequence[Mapping[str, Any]]) -> str:
    return ", ".join(_several(m) for m in machines)


def _checks(answer: Answer, sources: Sources) -> Section | None:
    """Checks that say the same of several machines are told once."""
    notices = dict.fromkeys(finding_notice(f, sources) for f in of_severity(answer, "check"))
    return section("Checks: somebody must look before it goes", Notices(tuple(notices)) if notices else None)
