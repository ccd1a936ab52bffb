"""One address, several forms: JSON for programs, and the page that a person reads or prints."""

from collections.abc import Callable, Sequence
from functools import lru_cache

from litestar import Response

from coldwright.contract.answer import Units
from coldwright.registry import Registry
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import has_already, json_reply, wanted_units
from coldwright.sheets import MEDIA_TYPES, Paper, Sheet, Sources, render, sources_of

JSON = "application/json"
FORMS = (JSON, *MEDIA_TYPES)
"""The first is sent where the caller has no preference."""


def preferred(accept: str | None, offered: Sequence[str] = FORMS) -> str:
    """The offered media type that an `Accept` header likes best (RFC 9110, 12.5.1); raises a 406."""
    if not (accept or "").strip():
        return offered[0]
    ranges = [_range(part) for part in (accept or "").lower().split(",")]
    ranked = [(-_quality(media_type, ranges), place) for place, media_type in enumerate(offered)]
    quality, place = min(ranked)
    if quality == 0:
        raise ProblemRaised("not-acceptable", f"This address answers with {', '.join(offered)}.")
    return offered[place]


def _range(part: str) -> tuple[str, float]:
    name, *parameters = (p.strip() for p in part.split(";"))
    for parameter in parameters:
        if parameter.startswith("q="):
            try:
                quality = float(parameter[2:])
            except ValueError:
                return name, 0.0
            return name, quality if 0 <= quality <= 1 else 0.0
    return name, 1.0


def _quality(media_type: str, ranges: list[tuple[str, float]]) -> float:
    """The quality of the narrowest range that covers it."""
    for name in (media_type, f"{media_type.partition('/')[0]}/*", "*/*"):
        found = [quality for wanted, quality in ranges if wanted == name]
        if found:
            return max(found)
    return 0.0


def wanted_form(asked: Asked) -> str:
    """The form that this request wants; raises a 406."""
    return preferred(asked.header("accept"))


def tag_of(etag: str, form: str, units: Units) -> str:
    """The entity tag of one form: a page may change with a release, so its tag is weak."""
    if form == JSON:
        return etag
    return f'W/{etag.removeprefix("W/")[:-1]}-{form.partition("/")[2]}-{units}"'


async def represent(
    asked: Asked,
    form: str,
    etag: str,
    *,
    body: Callable[[], bytes],
    sheet: Callable[[Sources], Sheet],
    name: str,
    variant: str = "",
    units: Units | None = None,
    used: Callable[[Sheet], Response[bytes]] | None = None,
) -> Response[bytes]:
    """The answer in the wanted form, or 304.

    `etag` is that of the JSON; `name` is what a saved PDF is called; `variant` says which of several pages it is; `used`
    makes the page for a browser, with its forms; `units` are those of the page, where they are not those that were asked for.
    """
    tag = tag_of(etag, form, units or wanted_units(asked))
    letter = asked.query("paper") == "letter"
    variant += "-letter" if letter else ""
    if variant and form != JSON:
        tag = f'{tag[:-1]}-{variant}"'
    headers = {"ETag": tag, "Vary": "Accept" if form == JSON else "Accept, Accept-Language"}
    if has_already(asked, tag):
        return Response(b"", status_code=304, headers=headers, media_type=form)
    if form == JSON:
        return json_reply(body(), 200, headers)

    if form == "text/html" and used is not None:
        shown = await asked.services.apart(lambda: used(sheet(sources(asked.services.registry))))
        shown.headers["ETag"] = tag
        return shown

    def page() -> bytes:
        return _rendered(sheet(sources(asked.services.registry)), form, "letter" if letter else "a4")

    if form == "application/pdf":
        headers["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return Response(await asked.services.apart(page), status_code=200, media_type=form, headers=headers)


def _rendered(sheet: Sheet, form: str, paper: Paper) -> bytes:
    return render(sheet, next(m for m in MEDIA_TYPES if m == form), paper)


@lru_cache(maxsize=4)
def sources(registry: Registry) -> Sources:
    """Every source of the calculators that are served."""
    return sources_of(registry)
