"""What is kept of an item's answer: all of it, what stands at some pointers, or only what is not as before."""

from collections import Counter
from typing import Annotated, Any, Literal

import msgspec
from msgspec import Meta, Struct

from coldwright.contract.pointers import NoSuchPlace, get

Keep = Literal["answers", "changes"] | tuple[str, ...]
RANK = {"acceptable": 0, "conditional": 1, "unacceptable": 2}
SAME, OTHER, WORSE, NOT_POSSIBLE, NO_ANSWER = 0, 1, 2, 3, 4
"""Severities: lists show the worst first."""
MOST_NAMED = 20

_members = msgspec.json.Decoder(dict[str, msgspec.Raw])
_keep = msgspec.json.Decoder(Literal["answers", "changes"] | list[str])


class Side(Struct, frozen=True):
    """A plan in short."""

    outcome: Annotated[str, Meta(description="Outcome of its assessment.")]
    machines: Annotated[dict[str, int], Meta(description="How many machines it takes, by type.")]


class NewFinding(Struct, frozen=True):
    """A finding that was not there before, in short."""

    code: Annotated[str, Meta(description="Its code.")]
    severity: Annotated[str, Meta(description="`stop` or `check`.")]
    statement: Annotated[str, Meta(description="What was found.")]
    do: Annotated[str, Meta(description="What to do about it.")]


class PlanChange(Struct, frozen=True):
    """How a plan is not what it was."""

    before: Annotated[Side, Meta(description="The kept plan.")]
    after: Annotated[Side, Meta(description="The plan with the changes.")]
    new_findings: Annotated[
        tuple[NewFinding, ...],
        Meta(
            max_length=MOST_NAMED,
            description="What now stops the plan, first, or is to be checked, and was not before.",
        ),
    ]
    gone_findings: Annotated[
        tuple[str, ...],
        Meta(max_length=MOST_NAMED, description="Codes of findings of before that are not there any more."),
    ]


def keep_of(kept: bytes) -> Keep:
    """From what the job says."""
    keep = _keep.decode(kept)
    return tuple(keep) if isinstance(keep, list) else keep


def picked(answer: bytes, pointers: tuple[str, ...]) -> bytes:
    """What stands at each pointer; one that leads nowhere here is left out. Only the members that they lead into are read."""
    members = _members.decode(answer)
    found: dict[str, Any] = {}
    for pointer in pointers:
        first, further, rest = pointer.removeprefix("/").partition("/")
        try:
            within = msgspec.Raw(answer) if not pointer else members[first.replace("~1", "/").replace("~0", "~")]
            found[pointer] = get(msgspec.json.decode(within), further + rest) if further else within
        except (NoSuchPlace, KeyError):
            continue
    return msgspec.json.encode(found)


def changed(before: bytes, after: bytes) -> tuple[bytes, int]:
    """How an answer is not the one before, and how bad that is; nothing of it, where it is the same.

    Two answers are the same where they have one outcome, the same machines, and the same findings that stop the plan or
    are to be checked: a limit that is met or broken is a finding.
    """
    old, new = msgspec.json.decode(before), msgspec.json.decode(after)
    sides = _side(old), _side(new)
    was, now = _findings(old), _findings(new)
    fresh = [f for code, found in now.items() for f in found[len(was.get(code, ())) :]]
    gone = sorted(
        (Counter({c: len(f) for c, f in was.items()}) - Counter({c: len(f) for c, f in now.items()})).elements()
    )
    if sides[0] == sides[1] and not fresh and not gone:
        return b"", SAME
    fresh.sort(key=lambda finding: finding.severity != "stop")
    change = PlanChange(*sides, tuple(fresh[:MOST_NAMED]), tuple(gone[:MOST_NAMED]))
    return msgspec.json.encode(change), _severity(*sides)


def _side(answer: dict[str, Any]) -> Side:
    machines: Counter[str] = Counter()
    for machine in answer["results"].get("machines", ()):
        machines[str(machine["type"])] += int(machine["count"])
    return Side(answer["outcome"], dict(sorted(machines.items())))


def _findings(answer: dict[str, Any]) -> dict[str, list[NewFinding]]:
    found: dict[str, list[NewFinding]] = {}
    for f in answer["findings"]:
        if f["severity"] in ("stop", "check"):
            new = NewFinding(f["code"], f["severity"], f["statement"], f.get("do") or f.get("resolve", ""))
            found.setdefault(new.code, []).append(new)
    return found


def _severity(before: Side, after: Side) -> int:
    if RANK[after.outcome] <= RANK[before.outcome]:
        return OTHER
    return NOT_POSSIBLE if after.outcome == "unacceptable" else WORSE
