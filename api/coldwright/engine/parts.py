"""Joins parts to a plan: what each is asked, and how its answer is put in. A part tightens and never loosens."""

import hashlib
from collections.abc import Iterable, Mapping
from typing import Annotated, Any

import msgspec

from coldwright.contract.calculator import Calculator
from coldwright.contract.parts import PartLine, PartQuestion
from coldwright.contract.walk import fields_of
from coldwright.engine.outcome import Evaluated
from coldwright.registry import Served

RANK = ("acceptable", "conditional", "unacceptable")
MOST = 100
"""Lines, or questions, that a part may add."""
Lines = Annotated[tuple[PartLine, ...], msgspec.Meta(max_length=MOST)]
Questions = Annotated[tuple[PartQuestion, ...], msgspec.Meta(max_length=MOST)]
FAILED = "part_failed"
"""Code of the finding that says so."""


def needs_of(served: Served) -> tuple[list[str], list[str]]:
    """What a part takes of the plan, and what of it it cannot do without."""
    calculator = served.calculator
    if isinstance(calculator, Calculator):
        given: Any = calculator.given
        fields = fields_of(given)
        return [f.wire_name for f in fields], [f.wire_name for f in fields if f.default is msgspec.NODEFAULT]
    schema = calculator.components[calculator.given]
    return list(schema.get("properties", ())), list(schema.get("required", ()))


def question_of(part: Served, plan: Mapping[str, Any]) -> bytes | str:
    """What the part is asked of this plan; in words what the plan lacks, where it cannot be asked."""
    known = {**plan["results"], "order": plan["given"]}
    names, required = needs_of(part)
    if missing := [name for name in required if name not in known]:
        return f"the plan has no {' and no '.join(name.replace('_', ' ') for name in missing)}"
    return msgspec.json.encode({name: known[name] for name in names if name in known})


def joined(plan: Evaluated, parts: Iterable[tuple[Served, Evaluated | str]]) -> Evaluated:
    """The plan with what the parts say; in words why one did not answer."""
    answer: dict[str, Any] = msgspec.json.decode(plan.body)
    digests: list[str] = []
    for served, told in parts:
        if isinstance(told, str):
            digests.append(f"{served.calculator.id} failed")
            _put_failure(answer, served, told)
        else:
            digests.append(told.digest)
            part = msgspec.json.decode(told.body)
            try:
                lines = msgspec.convert(part["results"].pop("pick_list", ()), Lines)
                questions = msgspec.convert(part["results"].pop("open_questions", ()), Questions)
            except msgspec.ValidationError as error:
                _put_failure(answer, served, f"its pick list or its questions are not as promised: {error}")
                continue
            _put(answer, served, part, lines, questions)
    answer["outcome"] = _outcome(answer["findings"])
    answer["digest"] = hashlib.sha256("\n".join([plan.digest, *sorted(digests)]).encode()).hexdigest()
    return Evaluated(msgspec.json.encode(answer), answer["digest"], answer["outcome"])


def _outcome(findings: list[dict[str, Any]]) -> str:
    severities = {f["severity"] for f in findings}
    return RANK[2] if "stop" in severities else RANK[1] if "check" in severities else RANK[0]


def _put_failure(answer: dict[str, Any], served: Served, reason: str) -> None:
    title, id_ = served.calculator.title, served.calculator.id
    answer["findings"].append(
        {
            "code": FAILED,
            "severity": "check",
            "statement": f"{title} ({id_}) is not part of this plan: {reason}",
            "why": "Whoever installed it wants to know what it says of every order.",
            "do": f"Ask {id_} by itself, or whoever maintains {served.distribution}.",
            "resolve": f"Ask {id_} by itself, or whoever maintains {served.distribution}.",
            "calculator": id_,
        }
    )


def _put(
    answer: dict[str, Any],
    served: Served,
    told: dict[str, Any],
    lines: tuple[PartLine, ...],
    questions: tuple[PartQuestion, ...],
) -> None:
    id_ = served.calculator.id
    for kind in ("findings", "assumptions", "cautions", "working"):
        known = answer[kind]
        known += [note for n in told[kind] if (note := {"calculator": id_, **n}) not in known]
    plan = answer["results"]
    plan["pick_list"] += [
        {**msgspec.to_builtins(line), "calculator": id_, "stock_short": False, "from_stock": False, "short_by": 0}
        for line in lines
    ]
    asked = [*plan["open_questions"], *map(msgspec.to_builtins, questions)]
    plan["open_questions"] = sorted(asked, key=lambda q: not q["decides"])
    stamp = told["calculator"]
    plan.setdefault("parts", []).append(
        {
            "calculator": id_,
            "version": stamp["version"],
            "plugin": stamp["plugin"],
            "plugin_version": stamp["plugin_version"],
            "title": served.calculator.title,
            "digest": told["digest"],
            "outcome": told["outcome"],
            "block": told["results"],
        }
    )
