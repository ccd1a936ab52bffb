"""`?record=true`: the answer that is given is the one that is kept, or it is a problem."""

from coldwright.engine import Evaluated
from coldwright.service.http.endpoint import Asked
from coldwright.service.resources.records import two_answers
from coldwright.store.records import Record, put_record


async def keep_record(asked: Asked, id_: str, version: str, evaluated: Evaluated) -> None:
    """Keep the metric answer under its digest for the caller's tenant; a problem where another is kept there."""
    await asked.services.kept.refuse_more(asked.caller.tenant)
    record = Record(evaluated.digest, id_, version, evaluated.outcome, evaluated.given, evaluated.body)
    kept = await asked.services.stored(put_record, asked.services.database, asked.caller.tenant, record)
    if kept.answer != record.answer and (problem := await asked.services.apart(two_answers, kept, record)):
        raise problem
