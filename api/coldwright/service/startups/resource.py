"""`/v1/startups`: a start-up kept on the server, for phones that go offline."""

from collections.abc import Awaitable, Callable
from typing import Any

from litestar import Response

from coldwright.contract import Example
from coldwright.registry import Registry, Served
from coldwright.registry.answers import answer_type
from coldwright.service.fleets.resource import NAME
from coldwright.service.http.endpoint import DETAILS, UNITS, Asked, Endpoint, Parameter, Reply
from coldwright.service.http.languages import LANG
from coldwright.service.http.negotiation import JSON, preferred
from coldwright.service.http.paging import PAGE_PARAMETERS
from coldwright.service.http.preconditions import PRECONDITION_PROBLEMS, PRECONDITIONS
from coldwright.service.startups import configuration, observations
from coldwright.service.startups.audit import ToldVerdicts, list_sent
from coldwright.service.startups.brief import Brief, get_brief
from coldwright.service.startups.configuration import ConfigurationList
from coldwright.service.startups.documents import Types, kept_startup_type, startup_verdict_type
from coldwright.service.startups.events import stream
from coldwright.service.startups.forms import forms_endpoint
from coldwright.service.startups.kinds import statuses_of
from coldwright.service.startups.listing import StartupList, list_all
from coldwright.service.startups.observations import KeptObservations, ObservationReplies, list_kept
from coldwright.service.startups.reply import RECORD, TZ, FillSlots, get, get_major
from coldwright.sheets import MEDIA_TYPES

ShowPlant = Callable[[Asked], Awaitable[Response[Any]]]
"""The machines of a plant on one page."""
_FAILURES = ("calculator-defect", "calculator-died", "calculator-resting", "calculator-too-slow")
ID = Parameter("id", "path", "Your own id of the start-up.", NAME, example="hall-3-north")
NAMED = {"type": "string", "minLength": 1, "maxLength": 200}
MOVED = Reply("The machine has a newer start: see there.", headers={"Location": "Address of the newer start."})
INSTANT = {"type": "string", "format": "date-time", "maxLength": 40}


def endpoints(registry: Registry, fill: FillSlots, plant: ShowPlant) -> list[Endpoint]:
    """The addresses of this resource; none where nobody answers whether a machine may start."""
    judge = registry.role("start")
    if judge is None:
        return []
    types = Types(registry)
    kept = kept_startup_type(types.document)
    verdict = startup_verdict_type(answer_type(judge.local))
    example = judge.calculator.examples[0].given

    opened = {"configuration": example["configuration"], "machine": "north"}

    async def put(asked: Asked) -> Response[bytes]:
        return await configuration.put(asked, types)

    async def post(asked: Asked) -> Response[bytes]:
        return await observations.post(asked, types)

    async def show(asked: Asked) -> Response[bytes]:
        return await get(asked, fill)

    async def list_or_show(asked: Asked) -> Response[bytes]:
        return await (
            plant(asked) if preferred(asked.header("accept"), (JSON, "text/html")) != JSON else list_all(asked)
        )

    results: Any = judge.local.results
    statuses = statuses_of(results)

    found = [
        Endpoint(
            method="GET",
            path="/v1/startups",
            operation_id="listStartups",
            summary="List the start-ups",
            description="Each with the status of its verdict of now. A page may be shorter than asked for and not be the last.",
            tag="startups",
            scope="field",
            handler=list_or_show,
            replies={200: Reply("A page of the list.", StartupList, other_media_types=("text/html",))},
            parameters=(
                Parameter("booking", "query", "Only those of this order.", NAMED),
                Parameter("machine", "query", "Only those of this machine.", NAMED),
                Parameter("state", "query", "Only those in this state.", {"type": "string", "enum": list(statuses)}),
                Parameter(
                    "at_site",
                    "query",
                    "`true`: only machines that are on site, by their newest start; `false`: only the others.",
                    {"type": "string", "enum": ["true", "false"]},
                ),
                *PAGE_PARAMETERS,
            ),
            problems=("refused-input", "conflict", "store-unavailable", *_FAILURES),
        ),
        Endpoint(
            method="PUT",
            path="/v1/startups/{id}",
            operation_id="putStartup",
            summary="Open a start-up, or change its configuration",
            description=(
                "Make the id yourself, so that a phone without a network can open one. Sending it again changes nothing. "
                "With `from_booking` the configuration is that of the plan. One machine has one open start. The scope "
                "`field` may tighten limits only: loosening one needs `book` or `admin`, who and why."
            ),
            tag="startups",
            scope="field",
            handler=put,
            replies={
                200: Reply("Kept before, or changed.", kept),
                201: Reply("Opened.", kept),
            },
            parameters=(ID, *PRECONDITIONS),
            body=types.document,
            examples=(Example("invented", "An invented machine.", opened),),
            problems=(*PRECONDITION_PROBLEMS, "conflict", *_FAILURES),
        ),
        Endpoint(
            method="POST",
            path="/v1/startups/{id}/observations",
            operation_id="addObservations",
            summary="Add observations",
            description=(
                "Idempotent by the id of each observation: send a batch again after a lost reply, from two phones if need "
                "be. Each item is kept or refused alone, because a phone that was offline must not lose a morning's work "
                "to one bad entry; `all_or_nothing=true` asks for the other rule. A correction names what it `supersedes`."
            ),
            tag="startups",
            scope="field",
            handler=post,
            replies={200: Reply("What became of each, in the order of the batch.", ObservationReplies)},
            parameters=(
                ID,
                Parameter(
                    "all_or_nothing",
                    "query",
                    "`true`: one refused observation refuses the batch. Default `false`.",
                    {"type": "string", "enum": ["true", "false"]},
                ),
            ),
            body=types.batch,
            examples=(
                Example("invented", "Invented observations.", {"observations": list(example["observations"][:3])}),
            ),
            problems=("not-found", "store-unavailable", "store-full", *_FAILURES),
            large_body=True,
        ),
        Endpoint(
            method="GET",
            path="/v1/startups/{id}",
            operation_id="getStartup",
            summary="May it start, and if not, what next?",
            description=(
                "The verdict now, or at `at`. It rests on the set of observations alone: order of arrival, repeats and late "
                "uploads change nothing. The ETag changes when the verdict says something else."
            ),
            tag="startups",
            scope="field",
            handler=show,
            replies={
                200: Reply("The verdict.", verdict, other_media_types=MEDIA_TYPES),
                304: Reply("It says the same as before."),
                307: MOVED,
            },
            parameters=(
                ID,
                Parameter("at", "query", "Instant to judge; now if not given. RFC 3339 with offset.", INSTANT),
                Parameter("known_at", "query", "Only what had arrived by then: what could we know?", INSTANT),
                UNITS,
                TZ,
                LANG,
                DETAILS,
                RECORD,
            ),
            problems=(
                "not-found",
                "not-acceptable",
                "refused-input",
                "store-unavailable",
                "conflict",
                *_FAILURES,
            ),
        ),
        Endpoint(
            method="GET",
            path="/v1/startups/{id}/brief",
            operation_id="getStartupBrief",
            summary="The verdict in less than 2 kB",
            description=(
                "Status, three lines, what to do with the records to make of it, what is in the way, when to ask again, and "
                "since when other devices are unheard. The ETag is that of what it says: the clock alone never changes it."
            ),
            tag="startups",
            scope="field",
            handler=get_brief,
            replies={200: Reply("The verdict in short.", Brief), 304: Reply("It says the same as before."), 307: MOVED},
            parameters=(
                ID,
                Parameter("device", "query", "The device that asks, which is not unheard.", NAMED),
                TZ,
                UNITS,
            ),
            problems=("not-found", "refused-input", "conflict", "store-unavailable", *_FAILURES),
        ),
        Endpoint(
            method="GET",
            path="/v1/startups/{id}/observations",
            operation_id="listObservations",
            summary="Every observation, superseded ones too",
            tag="startups",
            scope="field",
            handler=list_kept,
            replies={200: Reply("A page of them.", KeptObservations)},
            parameters=(ID, *PAGE_PARAMETERS),
            problems=("not-found", "refused-input", "store-unavailable"),
        ),
        Endpoint(
            method="GET",
            path="/v1/startups/{id}/configurations",
            operation_id="listStartupConfigurations",
            summary="Every configuration that it had, who changed it and why",
            tag="startups",
            scope="field",
            handler=configuration.list_changes,
            replies={200: Reply("A page of them.", ConfigurationList)},
            parameters=(ID, *PAGE_PARAMETERS),
            problems=("not-found", "refused-input", "store-unavailable"),
        ),
        Endpoint(
            method="GET",
            path="/v1/startups/{id}/verdicts",
            operation_id="listVerdicts",
            summary="What was sent, to whom, and when",
            tag="startups",
            scope="field",
            handler=list_sent,
            replies={200: Reply("A page of them.", ToldVerdicts)},
            parameters=(ID, *PAGE_PARAMETERS),
            problems=("not-found", "refused-input", "store-unavailable"),
        ),
        Endpoint(
            method="GET",
            path="/v1/startups/{id}/events",
            operation_id="streamVerdicts",
            summary="A stream of verdict changes",
            description=(
                "Server-sent events named `verdict`, one for each thing that really changed. Reconnect with `Last-Event-ID`, "
                "as browsers do, also after a restart of the service: what was sent is not sent again, and what is sent is "
                "how it stands now. Ends after an hour."
            ),
            tag="startups",
            scope="field",
            handler=stream,
            replies={200: Reply("The stream.", str, "text/event-stream"), 307: MOVED},
            parameters=(ID, TZ, UNITS),
            problems=("not-found", "refused-input", "store-unavailable"),
        ),
    ]
    if (forms := registry.role("start_forms")) is not None:
        found.append(forms_endpoint(judge, forms, _FAILURES))
    return found + [_of_major(served) for served in registry.majors(judge.calculator.id) if not served.newest]


def _of_major(older: Served) -> Endpoint:
    """The verdict in the shape of an older major version, as long as that is served."""
    major = older.calculator.major

    async def get_it(asked: Asked) -> Response[bytes]:
        return await get_major(asked, older)

    verdict = startup_verdict_type(answer_type(older.local, newest=False), f"StartupVerdictMajor{major}")
    return Endpoint(
        method="GET",
        path=f"/v1/startups/{{id}}/majors/{major}",
        operation_id=f"getStartupMajor{major}",
        summary=f"May it start? As version {major} says it",
        description=(
            f"Judged by the rules of today, said in the words of version {older.calculator.version}: what it had no word "
            "for is `blocked`."
        ),
        deprecated=True,
        tag="startups",
        scope="field",
        handler=get_it,
        replies={200: Reply("The verdict.", verdict), 307: MOVED},
        parameters=(ID, UNITS),
        problems=("not-found", "refused-input", "store-unavailable", "conflict", *_FAILURES),
    )
