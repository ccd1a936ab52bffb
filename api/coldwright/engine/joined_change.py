"""What a change of an order changes, parts included: both plans are drawn with theirs, and handed to who compares them."""

from typing import Any

import msgspec
from msgspec import Raw

from coldwright.contract import Malformed, Refused
from coldwright.engine.joined_plan import BY_PARTS
from coldwright.engine.outcome import Evaluated
from coldwright.engine.parts import Question, Steps, members
from coldwright.registry import Served

SIDES = ("before", "after")


def with_parts(change: Served, plan: Served, body: bytes) -> Steps:
    """The change between two orders. `plan` draws one with its parts; what it refuses, `change` refuses by itself."""
    try:
        sides = members(body)
        orders = [sides[name] for name in SIDES]
    except (msgspec.MsgspecError, KeyError, UnicodeDecodeError):
        orders = []
    drawn = (yield [Question(plan, bytes(order)) for order in orders]) if orders else []
    if not drawn or any(isinstance(one, Refused | Malformed) for one in drawn):
        (answered,) = yield [Question(change, body)]
        return _or_raise(answered)
    for name, one in zip(SIDES, map(_or_raise, drawn), strict=True):
        sides[f"joined_{name}"] = Raw(msgspec.json.encode(_of_parts(one)))
    (answered,) = yield [Question(change, msgspec.json.encode(sides))]
    return _or_raise(answered)


def _or_raise(answered: Any) -> Evaluated:
    if isinstance(answered, Exception):
        raise answered
    evaluated: Evaluated = answered
    return evaluated


def _of_parts(plan: Evaluated) -> dict[str, Any]:
    """What the parts put into a plan."""
    answer = msgspec.json.decode(plan.body)
    ids = {part["calculator"] for part in answer["results"].get("parts", ())}
    ids |= {f["calculator"] for f in answer["findings"] if f["code"] == "part_failed"}
    return {
        "findings": [
            {name: value for name, value in f.items() if name != "said"}
            for f in answer["findings"]
            if f.get("calculator") in ids
        ],
        "pick_list": [
            {"item": line["item"], "kind": line["kind"], "count": line["count"], "reason": line["reason"]}
            for line in answer["results"]["pick_list"]
            if line["calculator"] in ids
        ],
        "ruled_out": answer["results"].get(BY_PARTS, []),
        "open_questions": [q["field"] for q in answer["results"]["open_questions"] if q.get("calculator") in ids],
    }
