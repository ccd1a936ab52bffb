"""`/v1/forecasts`: the sky that a caller expects; its bookings are looked at again when it is put."""

from typing import Annotated

from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.contract import Example
from coldwright.contract.evaluation import canonical
from coldwright.contract.reading import read
from coldwright.service.fleets.resource import NAME
from coldwright.service.forecasts.document import ForecastDocument, days_of
from coldwright.service.http.body import is_long, raw_body
from coldwright.service.http.endpoint import Asked, Endpoint, Parameter, Reply
from coldwright.service.http.instants import instant
from coldwright.service.http.paging import PAGE_PARAMETERS, page_size, page_start, token_after
from coldwright.service.http.preconditions import PRECONDITIONS, condition_of, precondition_problems, status_of
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import encode, has_already, json_reply
from coldwright.service.resources.records import instant_text
from coldwright.store.forecasts import Day, Forecast, delete_forecast, get_forecast, list_forecasts, put_forecast

ID = Parameter("id", "path", "Your own id of the forecast.", NAME, example="north-coast")
_DAY = {"format": "date"}


class ForecastEntry(Struct, frozen=True, kw_only=True):
    """A forecast in the list."""

    id: Annotated[str, Meta(description="Your id of it.")]
    version: Annotated[int, Meta(ge=1, le=2**31, description="How often it was put with something new.")]
    first_day: Annotated[str, Meta(description="Its first day.", extra_json_schema=_DAY)]
    last_day: Annotated[str, Meta(description="Its last day.", extra_json_schema=_DAY)]
    created_at: Annotated[str, instant("When this version was put.")]
    href: Annotated[str, Meta(description="Its address.")]


class KeptForecast(ForecastEntry, frozen=True, kw_only=True):
    """A forecast with its document."""

    forecast: Annotated[ForecastDocument, Meta(description="As it was put.")]


class ForecastList(Struct, frozen=True, kw_only=True):
    """A page of the forecasts."""

    forecasts: Annotated[tuple[ForecastEntry, ...], Meta(description="By id.")]
    next_page_token: Annotated[str, Meta(description="Absent on the last page.")] | UnsetType = UNSET


def _read(body: bytes) -> tuple[bytes, list[Day]]:
    document = read(ForecastDocument, body)
    return canonical(document), days_of(document)


async def _put(asked: Asked) -> Response[bytes]:
    services = asked.services
    document, days = await services.apart(_read, await raw_body(asked), long=await is_long(asked))
    with precondition_problems():
        kept, done = await services.stored(
            put_forecast,
            services.database,
            asked.caller.tenant,
            asked.path("id"),
            document,
            days,
            condition_of(asked),
        )
    return json_reply(encode(_entry(kept)), status_of(done), {"ETag": f'"{kept.etag}"'})


async def _get(asked: Asked) -> Response[bytes]:
    services = asked.services
    kept = await services.stored(get_forecast, services.database, asked.caller.tenant, asked.path("id"))
    if kept is None:
        raise ProblemRaised("not-found", "There is no forecast of that id.")
    etag = f'"{kept.etag}"'
    if has_already(asked, etag):
        return Response(b"", status_code=304, headers={"ETag": etag}, media_type="application/json")
    head = encode(_entry(kept))
    return json_reply(head[:-1] + b',"forecast":' + kept.document + b"}", 200, {"ETag": etag})


async def _delete(asked: Asked) -> Response[bytes]:
    services = asked.services
    if not await services.stored(delete_forecast, services.database, asked.caller.tenant, asked.path("id")):
        raise ProblemRaised("not-found", "There is no forecast of that id.")
    return Response(b"", status_code=204)


async def _list(asked: Asked) -> Response[bytes]:
    size, services = page_size(asked), asked.services
    rows = await services.stored(list_forecasts, services.database, asked.caller.tenant, page_start(asked), size + 1)
    token = token_after(rows[size - 1].id) if len(rows) > size else UNSET
    return json_reply(ForecastList(forecasts=tuple(map(_entry, rows[:size])), next_page_token=token))


def _entry(kept: Forecast) -> ForecastEntry:
    return ForecastEntry(
        id=kept.id,
        version=kept.version,
        first_day=kept.first,
        last_day=kept.last,
        created_at=instant_text(kept.created_at),
        href=f"/v1/forecasts/{kept.id}",
    )


EXAMPLE = Example(
    "heat_wave",
    "An invented forecast of two hours at a site and one at a point on the map.",
    {
        "name": "Invented heat wave",
        "issued_at": "2027-07-10T04:00:00Z",
        "places": [
            {
                "site": "Invented school",
                "hours": [
                    {
                        "at": "2027-07-12T15:00:00-05:00",
                        "temperature": {"value": 104, "unit": "degF"},
                        "wind": {"value": 9, "unit": "mph"},
                        "gust": {"value": 21, "unit": "mph"},
                    },
                    {"at": "2027-07-13T05:00:00-05:00", "temperature": {"value": 81, "unit": "degF"}},
                ],
            },
            {
                "latitude": 41.9,
                "longitude": -87.6,
                "reach": {"value": 15, "unit": "km"},
                "hours": [{"at": "2027-07-12T15:00:00-05:00", "temperature": {"value": 39, "unit": "degC"}}],
            },
        ],
    },
)


def endpoints() -> list[Endpoint]:
    """The addresses of this resource."""
    one, problems = "/v1/forecasts/{id}", ("not-found", "store-unavailable")
    return [
        Endpoint(
            method="GET",
            path="/v1/forecasts",
            operation_id="listForecasts",
            summary="List the forecasts",
            tag="plans",
            scope="book",
            handler=_list,
            replies={200: Reply("A page of the list.", ForecastList)},
            parameters=PAGE_PARAMETERS,
            problems=("refused-input", "store-unavailable"),
        ),
        Endpoint(
            method="PUT",
            path=one,
            operation_id="putForecast",
            summary="Put a forecast",
            description=(
                "The sky that you expect, by site or by point on the map; none is fetched. It takes the place of the one "
                "before. Open bookings there whose period it reaches into are looked at again within a minute: those whose "
                "machines cannot carry the load in that air are marked (`GET /v1/bookings?holds=false`), and reported as events. "
                "Needs no `If-Match`."
            ),
            tag="plans",
            scope="book",
            handler=_put,
            replies={
                200: Reply("Kept before, or changed.", ForecastEntry),
                201: Reply("Kept as something new.", ForecastEntry),
            },
            parameters=(ID, *PRECONDITIONS),
            body=ForecastDocument,
            examples=(EXAMPLE,),
            problems=("changed-meanwhile", "store-unavailable", "store-full"),
            large_body=True,
        ),
        Endpoint(
            method="GET",
            path=one,
            operation_id="getForecast",
            summary="Read a forecast",
            tag="plans",
            scope="book",
            handler=_get,
            replies={200: Reply("The forecast.", KeptForecast), 304: Reply("You have it already.")},
            parameters=(ID,),
            problems=problems,
        ),
        Endpoint(
            method="DELETE",
            path=one,
            operation_id="deleteForecast",
            summary="Forget a forecast",
            tag="plans",
            scope="book",
            handler=_delete,
            replies={204: Reply("It is forgotten.")},
            parameters=(ID,),
            problems=problems,
        ),
    ]
