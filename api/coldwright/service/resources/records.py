"""`/v1/records`: answers that were kept, and the same question computed again."""

from datetime import UTC, datetime
from typing import Annotated, Any

import msgspec
from litestar import Response
from msgspec import Meta, Struct

from coldwright.contract import Defect, Refused
from coldwright.contract.answer import Answer
from coldwright.contract.evaluation import digest_of_text
from coldwright.service.http.endpoint import DETAILS, UNITS, Asked, Endpoint, Parameter, Reply
from coldwright.service.http.instants import instant
from coldwright.service.http.negotiation import represent, wanted_form
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import etag_of, json_reply, wanted_units
from coldwright.service.pages import sheet_of
from coldwright.sheets import MEDIA_TYPES, Occasion
from coldwright.store.records import Record, get_record

MOST_DIFFERENCES = 200


class KeptRecord(Struct, frozen=True, kw_only=True):
    """A question and the answer that it had. Results are in metric units."""

    digest: Annotated[str, Meta(description="SHA-256 of the question.")]
    calculator: Annotated[str, Meta(description="Id of the calculator.")]
    version: Annotated[str, Meta(description="Version of the calculator that answered.")]
    created_at: Annotated[str, instant("When it was kept, RFC 3339.")]
    answer: Annotated[Any, Meta(description="The answer, as `POST /v1/calculators/...` gave it.")]


class Difference(Struct, frozen=True, kw_only=True, omit_defaults=True):
    """A place where the answer of today is not the one that was kept."""

    pointer: Annotated[str, Meta(description="JSON pointer into the answer.")]
    kept: Annotated[Any, Meta(description="What was kept; absent when there was nothing.")] = msgspec.UNSET
    now: Annotated[Any, Meta(description="What is answered now; absent when there is nothing.")] = msgspec.UNSET


class Replay(Struct, frozen=True, kw_only=True):
    """A kept question, answered again."""

    digest: Annotated[str, Meta(description="Digest of the record.")]
    digest_now: Annotated[
        str,
        Meta(description="Its digest today: another one where a version, of a plugin too, or a table changed."),
    ]
    version_kept: Annotated[str, Meta(description="Version of the calculator that answered then.")]
    version_now: Annotated[str, Meta(description="Version that answers now.")]
    same: Annotated[bool, Meta(description="Whether outcome, results and findings are the same to the last digit.")]
    difference_count: Annotated[int, Meta(ge=0, le=1_000_000, description="How many places differ.")]
    differences: Annotated[
        tuple[Difference, ...],
        Meta(max_length=MOST_DIFFERENCES, description="The first of them, in the order of the answer."),
    ]


def instant_text(instant: datetime | None) -> str:
    """RFC 3339 in UTC; SQLite hands instants back without their zone."""
    if instant is None:
        return ""
    aware = instant if instant.tzinfo else instant.replace(tzinfo=UTC)
    return aware.astimezone(UTC).isoformat().replace("+00:00", "Z")


async def find_record(asked: Asked) -> Record:
    """The record that the path names, of the caller's own tenant; raises a 404."""
    record = await asked.services.stored(get_record, asked.services.database, asked.caller.tenant, asked.path("digest"))
    if record is None:
        raise ProblemRaised("not-found", "There is no record of that digest. Records are kept with `?record=true`.")
    return record


async def _get(asked: Asked) -> Response[bytes]:
    record = await find_record(asked)
    kept = KeptRecord(
        digest=record.digest,
        calculator=record.calculator,
        version=record.version,
        created_at=instant_text(record.created_at),
        answer=msgspec.Raw(record.answer),
    )
    body, form = msgspec.json.encode(kept), wanted_form(asked)
    served = asked.services.registry.served.get(record.calculator)
    answer = record.answer
    if served and form != "application/json":
        answer = await asked.services.engine.in_units(served, answer, wanted_units(asked))
    return await represent(
        asked,
        form,
        etag_of(body),
        body=lambda: body,
        sheet=lambda sources: sheet_of(
            asked.services.engine,
            served if served and record.version == served.calculator.version else None,
            answer,
            sources,
            Occasion(details=asked.query("details") == "all"),
            title=served.calculator.title if served else record.calculator,
            kept_at=instant_text(record.created_at),
        ),
        name=f"record-{record.digest[:12]}",
        variant="all" if asked.query("details") else "",
    )


async def _replay(asked: Asked) -> Response[bytes]:
    record = await find_record(asked)
    registry = asked.services.registry
    served = registry.find(f"{record.calculator}@{record.version.partition('.')[0]}") or registry.find(
        record.calculator
    )
    if served is None:
        raise ProblemRaised("conflict", f"The calculator {record.calculator} is not served here now.")
    try:
        evaluated = await asked.services.engine.evaluate(served, record.given, "metric")
    except Refused as refused:
        text = f"Version {served.calculator.version} refuses what {record.version} took: {refused}"
        raise ProblemRaised("conflict", text, errors=refused.errors[:50]) from refused

    def compared() -> list[Difference]:
        return differing(msgspec.json.decode(record.answer), msgspec.json.decode(evaluated.body))

    differences = await asked.services.apart(compared)
    asks_nobody = served.first_party and not served.calculator.uses
    origin = registry.origin(served.name)
    if asks_nobody and digest_of_text(served.local, evaluated.given, origin=origin) != evaluated.digest:
        raise Defect(f"{record.calculator} gives two digests for one question")
    return json_reply(
        Replay(
            digest=record.digest,
            digest_now=evaluated.digest,
            version_kept=record.version,
            version_now=served.calculator.version,
            same=not differences,
            difference_count=len(differences),
            differences=tuple(differences[:MOST_DIFFERENCES]),
        )
    )


def two_answers(kept: Record, now: Record) -> ProblemRaised | None:
    """The problem of one question with two answers, which holds both; nothing where they say the same."""
    found = differing(msgspec.json.decode(kept.answer), msgspec.json.decode(now.answer))
    if not found:
        return None
    text = (
        f"The same question was answered otherwise before, and that answer is kept: they differ in {len(found)} places, "
        f"the first at {found[0].pointer}. `kept` and `now` are both."
    )
    both = {"kept": msgspec.Raw(kept.answer), "now": msgspec.Raw(now.answer)}
    return ProblemRaised("conflict", text, members=both)


COMPARED = tuple(f for f in Answer.__struct_fields__ if f not in ("calculator", "digest", "given"))


def differing(kept: dict[str, Any], now: dict[str, Any]) -> list[Difference]:
    """Places where two answers differ; who answered and under which digest is reported apart from these."""
    found: list[Difference] = []
    for part in COMPARED:
        _differ(kept.get(part, msgspec.UNSET), now.get(part, msgspec.UNSET), f"/{part}", found)
    return found


def _differ(kept: Any, now: Any, pointer: str, found: list[Difference]) -> None:
    if isinstance(kept, dict) and isinstance(now, dict):
        for key in [*kept, *(k for k in now if k not in kept)]:
            step = str(key).replace("~", "~0").replace("/", "~1")
            _differ(kept.get(key, msgspec.UNSET), now.get(key, msgspec.UNSET), f"{pointer}/{step}", found)
    elif isinstance(kept, list) and isinstance(now, list):
        for index in range(max(len(kept), len(now))):
            one = kept[index] if index < len(kept) else msgspec.UNSET
            other = now[index] if index < len(now) else msgspec.UNSET
            _differ(one, other, f"{pointer}/{index}", found)
    elif kept != now or isinstance(kept, bool) != isinstance(now, bool):
        found.append(Difference(pointer=pointer, kept=kept, now=now))


DIGEST = Parameter(
    "digest", "path", "Digest of the question, from its answer.", {"type": "string", "pattern": "^[0-9a-f]{64}$"}
)


def endpoints() -> list[Endpoint]:
    """The addresses of this resource."""
    return [
        Endpoint(
            method="GET",
            path="/v1/records/{digest}",
            operation_id="getRecord",
            summary="Read a kept answer",
            description="As JSON it stays as it was kept, in metric units; a page of it comes in the wanted units.",
            tag="records",
            scope="calculate",
            handler=_get,
            replies={
                200: Reply("The record.", KeptRecord, other_media_types=MEDIA_TYPES),
                304: Reply("You have it already."),
            },
            parameters=(DIGEST, DETAILS, UNITS),
            problems=("not-found", "not-acceptable", "refused-input", "store-unavailable"),
        ),
        Endpoint(
            method="POST",
            path="/v1/records/{digest}/replay",
            operation_id="replayRecord",
            summary="Compute a kept question again and report any difference",
            description="Also after a calculator's version changed: the digest differs then, and the list shows if the numbers do.",
            tag="records",
            scope="calculate",
            handler=_replay,
            replies={200: Reply("What differs.", Replay)},
            parameters=(DIGEST,),
            problems=(
                "not-found",
                "conflict",
                "store-unavailable",
                "calculator-defect",
                "calculator-died",
                "calculator-too-slow",
            ),
        ),
    ]
