"""The page of an answer: as its calculator lays it out, else field by field."""

from datetime import UTC, datetime

import msgspec
import structlog

from coldwright.engine import Engine, Failure
from coldwright.registry import Served
from coldwright.sheets import Occasion, Sheet, Sources, lay_out, record_sheet

log = structlog.get_logger("coldwright.service")


def today() -> str:
    """The day that stands on what is printed now, in UTC: the service does not know the zone of the site."""
    return f"{datetime.now(UTC):%Y-%m-%d}"


def sheet_of(
    engine: Engine,
    served: Served | None,
    body: bytes,
    sources: Sources,
    occasion: Occasion,
    *,
    title: str = "",
    kept_at: str = "",
) -> Sheet:
    """For callers that may block. `served` is None where the calculator is gone: then the answer speaks for itself."""
    answer, page, remark = msgspec.json.decode(body), None, ""
    try:
        page = engine.page(served, body, occasion) if served else None
    except Failure as failure:
        log.warning("a calculator's page could not be made", calculator=answer["calculator"]["id"], why=str(failure))
        remark = "Its own page could not be made: this is the answer field by field."
    if page is None:
        return record_sheet(answer, sources, title=title, kept_at=kept_at, remark=remark)
    return lay_out(page, answer, sources, printed=occasion.printed, zone=occasion.zone)
