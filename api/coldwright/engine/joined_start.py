"""Joins parts to a start. A part adds facts and blocks, and takes none away: who judges the start puts them in."""

import hashlib
from collections.abc import Sequence
from typing import Annotated, Any

import msgspec
from msgspec import Raw

from coldwright.contract import JoinedToStart, StartBlock, StartFact
from coldwright.engine.outcome import Evaluated
from coldwright.engine.parts import Joined, Question, Said, Steps, digests_of, in_turn, members, results_of
from coldwright.registry import Served

MOST = 50
"""Facts, or blocks, that a part may add."""
JOINED = "joined"
"""Field in which who judges a start takes what parts add."""
Facts = Annotated[tuple[StartFact, ...], msgspec.Meta(max_length=MOST)]
Blocks = Annotated[tuple[StartBlock, ...], msgspec.Meta(max_length=MOST)]


def with_parts(served: Served, judge: Served, parts: Sequence[Served], start: Evaluated) -> Steps:
    """The verdict, judged once more with what the parts add where they add something.

    Parts are asked of what the newest major version says, whichever gives the answer.
    """
    asked, seen = members(start.body)["given"], start
    if served is not judge:
        (answered,) = yield [Question(judge, bytes(asked), alone=True)]
        if isinstance(answered, Exception):
            raise answered
        seen = answered
    said = yield from in_turn(parts, {**members(results_of(seen)), **members(asked)})
    added = [_added(one) for one in said]
    judged = start
    if any(isinstance(one, JoinedToStart) and (one.facts or one.blocks) for one in added):
        joined = [one for one in added if isinstance(one, JoinedToStart)]
        body = msgspec.json.encode({**members(asked), JOINED: Raw(msgspec.json.encode(joined))})
        (answered,) = yield [Question(served, body)]
        if isinstance(answered, Exception):
            raise answered
        judged = answered
    return _finished(judged, asked, said, added)


def _added(said: Said) -> JoinedToStart | str:
    """What a part adds; in words why it adds nothing."""
    part, answer = said
    if isinstance(answer, str):
        return answer
    results = msgspec.json.decode(answer.body)["results"]
    try:
        return JoinedToStart(
            calculator=part.calculator.id,
            title=part.calculator.title[:200],
            facts=msgspec.convert(results.get("facts", ()), Facts),
            blocks=msgspec.convert(results.get("blocks", ()), Blocks),
        )
    except msgspec.ValidationError as error:
        return f"its facts or its blocks are not as promised: {error}"


def _finished(judged: Evaluated, asked: Raw, said: list[Said], added: Sequence[JoinedToStart | str]) -> Evaluated:
    whole = Joined(judged)
    for (part, answer), one in zip(said, added, strict=True):
        if isinstance(one, str) or isinstance(answer, str):
            whole.fail(part, str(one), "start")
            continue
        answered: dict[str, Any] = msgspec.json.decode(answer.body)
        for name in ("facts", "blocks"):
            answered["results"].pop(name, None)
        led = {"configuration": "/configuration", "observations": "/observations"}
        whole.take_in(part, answered, answer.digest, led=led)
    whole.given = asked
    digests = [judged.digest, *sorted(digests_of(said))]
    return whole.finished(hashlib.sha256("\n".join(digests).encode()).hexdigest())
