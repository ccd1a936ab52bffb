"""Joins parts to the plan of an order. A part tightens and never loosens; where one stops, another combination is tried."""

import hashlib
from collections.abc import Sequence
from functools import cached_property
from typing import Annotated, Any, NamedTuple

import msgspec
from msgspec import Raw

from coldwright.contract import Calculator, PartLine, PartQuestion
from coldwright.contract.walk import fields_of
from coldwright.engine.outcome import Evaluated
from coldwright.engine.parts import Joined, Question, Said, Steps, digests_of, in_turn, members, takes_of
from coldwright.registry import Served

MOST = 100
"""Lines, or questions, that a part may add."""
MOST_ANEW = 4
"""Further combinations that are tried where a part stops the plan."""
RULED_OUT, BY_PARTS = "ruled_out", "ruled_out_by_parts"
"""Field of the order that names combinations which are not to be taken, and of the plan that says which parts stopped."""
SHORT = "part_stock_short"
Lines = Annotated[tuple[PartLine, ...], msgspec.Meta(max_length=MOST)]
Questions = Annotated[tuple[PartQuestion, ...], msgspec.Meta(max_length=MOST)]


class _Drawn(NamedTuple):
    """A plan with its parts, before it is finished."""

    whole: Joined
    digests: list[str]
    stops: list[tuple[Served, str]]
    """Parts that stop it, with the first reason of each."""


def with_parts(served: Served, parts: Sequence[Served], plan: Evaluated) -> Steps:
    """The plan with what the parts say, or the next one that neither it nor they stop; else the first with their stops."""
    whole, digests, ruled_out = Joined(plan), [plan.digest], list[dict[str, Any]]()
    asked = whole.given
    first: Joined | None = None
    for turn in range(MOST_ANEW + 1):
        known = {**whole.results, "order": whole.given}
        drawn = _drawn(whole, (yield from in_turn(parts, known)))
        digests += drawn.digests
        if first is None:
            first = drawn.whole
        if not drawn.stops or (turn == 0 and plan.outcome == "unacceptable"):
            if ruled_out:
                drawn.whole.write(BY_PARTS, ruled_out)
            return _finished(drawn.whole, asked, digests)
        counts = [{"type": m["type"], "count": m["count"]} for m in drawn.whole.read("machines", ())]
        if turn == MOST_ANEW or not counts or not _may_try_another(served, drawn):
            break
        part, why = drawn.stops[0]
        ruled_out.append({"machines": counts, "why": f"{part.calculator.id}: {why}"[:1000]})
        (answered,) = yield [Question(served, _without(asked, ruled_out))]
        if not isinstance(answered, Evaluated) or answered.outcome == "unacceptable":
            break
        plan, whole = answered, Joined(answered)
        digests.append(plan.digest)
    assert first is not None  # noqa: S101 - one plan at least was drawn
    return _finished(first, asked, digests)


def _may_try_another(served: Served, drawn: _Drawn) -> bool:
    """Whether other machines could free the stop: who takes nothing but the order says the same of any."""
    calculator = served.calculator
    if not isinstance(calculator, Calculator):
        return False
    given: Any = calculator.given
    takes = {t.name for part, _ in drawn.stops for t in takes_of(part)}
    return any(f.wire_name == RULED_OUT for f in fields_of(given)) and bool(takes - {"order"})


def _without(asked: Raw, ruled_out: list[dict[str, Any]]) -> bytes:
    order = members(asked)
    before = msgspec.json.decode(order[RULED_OUT]) if RULED_OUT in order else []
    return msgspec.json.encode({**order, RULED_OUT: [*before, *ruled_out]})


def _drawn(whole: Joined, said: list[Said]) -> _Drawn:
    stops = list[tuple[Served, str]]()
    stock = _Stock(whole)
    for part, answer in said:
        if isinstance(answer, str):
            whole.fail(part, answer, "plan")
            continue
        answered = msgspec.json.decode(answer.body)
        try:
            lines = msgspec.convert(answered["results"].pop("pick_list", ()), Lines)
            questions = msgspec.convert(answered["results"].pop("open_questions", ()), Questions)
        except msgspec.ValidationError as error:
            whole.fail(part, f"its pick list or its questions are not as promised: {error}", "plan")
            continue
        answered["findings"] += stock.short_of(part, picked := stock.lines(part, lines))
        whole.take_in(part, answered, answer.digest, led={"order": ""})
        if picked:
            whole.extend("pick_list", picked)
        if questions:
            asks = [{**msgspec.to_builtins(q), "calculator": part.calculator.id} for q in questions]
            open_ = [*whole.read("open_questions", []), *asks]
            whole.write("open_questions", sorted(open_, key=lambda q: not q["decides"]))
        stops += [(part, f["statement"]) for f in answered["findings"] if f["severity"] == "stop"][:1]
    return _Drawn(whole, digests_of(said), stops)


def _finished(whole: Joined, asked: Raw, digests: list[str]) -> Evaluated:
    whole.given = asked
    return whole.finished(hashlib.sha256("\n".join([digests[0], *sorted(digests[1:])]).encode()).hexdigest())


class _Stock:
    """What is left of the accessories of the fleet, line by line."""

    def __init__(self, whole: Joined) -> None:
        self._whole = whole

    @cached_property
    def _left(self) -> dict[str, int]:
        """By item; worked out for the first part that has a line."""
        order = members(self._whole.given)
        fleet = members(order["fleet"]) if "fleet" in order else {}
        rows = msgspec.json.decode(fleet["accessories"]) if "accessories" in fleet else []
        left = {str(row["item"]): int(row["count"]) for row in rows}
        for line in self._whole.read("pick_list", []):
            if line["item"] in left and line.get("kind") != "machine":
                left[line["item"]] = max(0, left[line["item"]] - int(line["count"]))
        return left

    def lines(self, part: Served, lines: Lines) -> list[dict[str, Any]]:
        """Lines of a part as they stand on the pick list."""
        return [self._line(part, line) for line in lines]

    def _line(self, part: Served, line: PartLine) -> dict[str, Any]:
        held, left = line.item in self._left, self._left.get(line.item, 0)
        short = max(0, line.count - left) if held else 0
        if held:
            self._left[line.item] = max(0, left - line.count)
        answered = {"calculator": part.calculator.id, "from_stock": held, "stock_short": short > 0, "short_by": short}
        return {**msgspec.to_builtins(line), **answered}

    def short_of(self, part: Served, lines: list[dict[str, Any]]) -> list[dict[str, Any]]:
        """The stop that says what the stock lacks; nothing where it lacks nothing."""
        short = [f"{line['item']} ({line['short_by']} of {line['count']})" for line in lines if line["stock_short"]]
        if not short:
            return []
        return [
            {
                "code": SHORT,
                "severity": "stop",
                "statement": f"Missing for the period: {', '.join(short)}.",
                "why": f"{part.calculator.title} needs them, and the fleet holds too few.",
                "do": "Hire elsewhere, or another combination.",
                "resolve": "Hire elsewhere, or another combination.",
                "calculator": part.calculator.id,
            }
        ]
