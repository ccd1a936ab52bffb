"""`?record=true`: the answer that is given is the one that is kept, or it is a problem."""

import msgspec

from coldwright.engine import Evaluated
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.resources.records import differing
from coldwright.store.records import Record, put_record


async def keep_record(asked: Asked, id_: str, version: str, evaluated: Evaluated) -> None:
    """Keep the metric answer under its digest for the caller's tenant; a problem where another is kept there."""
    await asked.services.kept.refuse_more(asked.caller.tenant)
    record = Record(evaluated.digest, id_, version, evaluated.outcome, evaluated.given, evaluated.body)
    kept = await asked.services.stored(put_record, asked.services.database, asked.caller.tenant, record)
    if kept.answer == record.answer:
        return

    def places() -> list[str]:
        differences = differing(msgspec.json.decode(kept.answer), msgspec.json.decode(record.answer))
        return [d.pointer for d in differences]

    if found := await asked.services.apart(places):
        text = (
            f"The same question was answered otherwise before, and that answer is kept: they differ in {len(found)} places, "
            f"the first at {found[0]}. `kept` and `now` are both."
        )
        both = {"kept": msgspec.Raw(kept.answer), "now": msgspec.Raw(record.answer)}
        raise ProblemRaised("conflict", text, members=both)
