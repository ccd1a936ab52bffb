"""The page of an answer: as its calculator lays it out, else field by field."""

import msgspec

from coldwright.engine import Engine
from coldwright.registry import Served
from coldwright.sheets import Occasion, Sheet, Sources, lay_out, record_sheet


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
    page = engine.page(served, body, occasion) if served else None
    answer = msgspec.json.decode(body)
    return lay_out(page, answer, sources) if page else record_sheet(answer, sources, title=title, kept_at=kept_at)
