"""The page of a start-up: may it start, and what to do next."""

from collections.abc import Iterator, Mapping
from typing import Any

import msgspec

from coldwright.contract.page import (
    Block,
    Column,
    Facts,
    Heading,
    Lines,
    Occasion,
    Page,
    Section,
    Standard,
    Table,
    Tone,
    facts,
    present,
    section,
    shortened,
)
from coldwright.contract.people import count_of, instant, label, listed, plain_text, quantity, words

Answer = Mapping[str, Any]

VERDICTS: dict[str, tuple[Tone, str]] = {
    "ready": ("good", "READY: nothing on record forbids the start"),
    "wait": ("care", "WAIT"),
    "blocked": ("bad", "DO NOT START"),
    "running": ("good", "RUNNING: nothing on record is against it"),
    "ended": ("care", "ENDED: the machine is off and this start is closed"),
}
NO_ORDER = "This is no order to start. Whoever stands at the machine decides."


def start_page(answer: Any, occasion: Occasion) -> Page:
    """The verdict for the person at the machine."""
    plain: Answer = msgspec.to_builtins(answer)
    results = plain["results"]
    tone, verdict = _headline(plain)
    return Page(
        kind="Start-up",
        title=plain_text(occasion.machine or occasion.id),
        tone=tone,
        verdict=verdict,
        lead=tuple(_lead(plain, occasion.observations, occasion.booking)),
        sections=present(
            (
                _stop(results),
                _next(results["next_action"]),
                _look_again(results),
                _blocks(results),
                _waits(results),
                _suspicions(results),
                Standard("findings", "Stops in full", ("stop",)),
                Standard("findings", "Worth knowing", ("check", "note")),
                _facts(results),
                Standard("parts"),
                Standard("cautions"),
                Standard("assumptions"),
                _timeline(results),
                Standard("given", "Settings of this start-up", at="configuration"),
                Standard("sources"),
            )
        ),
        foot=(NO_ORDER,),
        mark=f"Start-up {occasion.id}. ",
    )


def _headline(answer: Answer) -> tuple[Tone, str]:
    results = answer["results"]
    if results["status"] == "stop_now":
        return "bad", f"STOP NOW: {plain_text(results['next_action']['short'])}"
    tone, verdict = VERDICTS[results["status"]]
    if results["status"] == "running" and results["next_action"]["do"].startswith("Read again"):
        return "care", f"RUNNING. {plain_text(results['next_action']['short'])}"
    return tone, verdict


def _lead(answer: Answer, observations: int, booking: str) -> Iterator[str]:
    results = answer["results"]
    yield f"As of {instant(answer['given']['evaluated_at'])}, on {count_of(observations, 'observation')}."
    if results["status"] == "ready":
        yield NO_ORDER
    if results["blocks"] and results["status"] == "blocked":
        yield f"{count_of(len(results['blocks']), 'thing')} in the way."
    if "earliest_start" in results and results["status"] in ("blocked", "wait"):
        blocked = " at best: what is in the way comes on top" if results["status"] == "blocked" else ""
        yield f"Earliest start {instant(results['earliest_start'])}{blocked}."
    for name, text in (("may_connect", "Work on the lines may begin"), ("may_energise", "The source may be closed")):
        if name in results:
            yield f"{text}: {'yes' if results[name] else 'NO'}."
    if booking:
        yield f"Order {plain_text(booking)}."


def _next(action: Mapping[str, Any]) -> Section | None:
    wait = action.get("time_to_earliest_start")
    block = facts(
        ("In short", plain_text(action["short"])),
        ("Do", plain_text(action["do"])),
        ("Step", words(action["step_id"])),
        ("Why", plain_text(action["why"])),
        ("Who", plain_text(action["done_by"])),
        ("Then", ", ".join(words(step) for step in action["unlocks"])),
        ("Time to the earliest start", quantity(wait) if wait and wait["value"] else ""),
    )
    meanwhile = Lines(tuple(f"{words(m['step_id'])}: {plain_text(m['why'])}" for m in action["meanwhile"]))
    heading, lines = (Heading("Meanwhile"), meanwhile) if meanwhile.items else (None, None)
    return section("Next", block, heading, lines)


def _stop(results: Mapping[str, Any]) -> Section | None:
    """Why it is to be stopped, before everything else."""
    if "stop_now" not in results:
        return None
    stop = results["stop_now"]
    causes = tuple(plain_text(c["statement"]) for c in stop["causes"])
    block = facts(("Compressors", listed(stop["compressors"])), ("How", plain_text(stop["how"])))
    return section("Stop now", block, Lines(causes))


def _look_again(results: Mapping[str, Any]) -> Section | None:
    rows = tuple((words(x["fact"]), f"by {instant(x['due'])}") for x in results["look_again"])
    return section("To be looked at again", Facts(rows) if rows else None)


def _blocks(results: Mapping[str, Any]) -> Section | None:
    rows = tuple(
        (
            plain_text(b["rule"]),
            words(b.get("fact", "")) + (f" ({words(b['reason'])})" if "reason" in b else ""),
            words(b.get("status", "stands")),
            words(b["clear_by"]),
            plain_text(b["cleared_by"]),
        )
        for b in results["blocks"]
    )
    columns = (
        Column("Rule", 8),
        Column("What", 26),
        Column("How it is", 16),
        Column("Cleared by", 24),
        Column("Who", 26),
    )
    return section("In the way", Table(columns, rows) if rows and results["status"] == "blocked" else None)


def _waits(results: Mapping[str, Any]) -> Section | None:
    names = {"R20": "The oil warms", "anti_recycle": "A compressor rests"}
    rows = tuple(
        (names.get(w["rule"], plain_text(w["rule"])), f"until {instant(w['until'])}") for w in results["waits"]
    )
    since = results.get("warm_up_since")
    warm = ("Oil heating since", instant(since)) if since and rows else ("", "")
    return section("Time that must pass", Facts((*rows, *((warm,) if warm[0] else ()))) if rows else None)


def _suspicions(results: Mapping[str, Any]) -> Section | None:
    blocks: list[Block] = []
    for name, title in (("contradictory", "One id, two stories"), ("impossible", "Cannot be as recorded")):
        if results[name]:
            lines = tuple(plain_text(f"{s['statement']} ({s['rule']}: {listed(s['ids'])})") for s in results[name])
            blocks += [Heading(title), Lines(lines)]
    undone = tuple(f"{words(i['fact'])}: undone by {plain_text(i['by'])} ({i['rule']})" for i in results["invalidated"])
    if undone:
        blocks += [Heading("Was so, and was undone"), Lines(undone)]
    return section("Records that do not agree", *blocks)


def _facts(results: Mapping[str, Any]) -> Section | None:
    ranked = sorted(results["facts"].items(), key=lambda item: item[1]["status"] == "established")
    rows = tuple(
        (
            label(name),
            words(state["status"]),
            instant(state["at"]) if "at" in state else "",
            listed(state["by"]),
        )
        for name, state in ranked
    )
    columns = (Column("Fact", 26), Column("How it is", 16), Column("Latest record", 26), Column("Records", 32))
    return section("Every fact", Table(columns, rows))


def _timeline(results: Mapping[str, Any]) -> Section | None:
    rows = tuple(
        (
            instant(t["at"]),
            plain_text(t["id"]),
            words(t["kind"]),
            f"± {quantity(t['uncertainty'])}" if t["uncertainty"]["value"] else "",
            "against a start" if t["adverse"] else "",
        )
        for t in reversed(results["timeline"])
    )
    columns = (Column("At", 26), Column("Record", 22), Column("Kind", 22), Column("Give or take", 14), Column("", 16))
    return section("Records, the latest first", *(shortened(Table(columns, rows)) if rows else ()), appendix=True)
