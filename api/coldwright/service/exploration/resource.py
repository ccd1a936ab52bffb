"""`/v1/worksheets`, `/v1/sweeps`, `/v1/limits`."""

from litestar import Response

from coldwright.contract import Example
from coldwright.contract.plugin import Exploration
from coldwright.registry import Registry
from coldwright.service.exploration.limit import Limit, LimitAnswer, find_limit
from coldwright.service.exploration.plot import plot
from coldwright.service.exploration.sweep import Sweep, SweepTable, sweep_table
from coldwright.service.exploration.worksheet import Worksheet, WorksheetAnswer, answer_worksheet
from coldwright.service.http.body import is_long, read_body
from coldwright.service.http.endpoint import UNITS, Asked, Endpoint, Reply
from coldwright.service.http.negotiation import JSON, preferred
from coldwright.service.http.replies import encode, json_reply, wanted_units

SVG = "image/svg+xml"
_FAILURES = ("calculator-defect", "calculator-died", "calculator-resting", "calculator-too-slow", "not-found")


async def _worksheet(asked: Asked) -> Response[bytes]:
    worksheet, long = await read_body(asked, Worksheet), await is_long(asked)
    answer = await answer_worksheet(asked.services, worksheet, wanted_units(asked), long=long)
    return json_reply(await asked.services.apart(encode, answer))


async def _sweep(asked: Asked) -> Response[bytes]:
    form = preferred(asked.header("accept"), (JSON, SVG))
    sweep, long = await read_body(asked, Sweep), await is_long(asked)
    table = await sweep_table(asked.services, sweep, wanted_units(asked), long=long)
    if form == SVG:
        return Response(
            await asked.services.apart(plot, table), status_code=200, media_type=SVG, headers={"Vary": "Accept"}
        )
    return json_reply(await asked.services.apart(encode, table), headers={"Vary": "Accept"})


async def _limit(asked: Asked) -> Response[bytes]:
    limit, long = await read_body(asked, Limit), await is_long(asked)
    return json_reply(await find_limit(asked.services, limit, wanted_units(asked), long=long))


def endpoints(registry: Registry) -> list[Endpoint]:
    """The addresses of this resource."""
    return [
        Endpoint(
            method="POST",
            path="/v1/worksheets",
            operation_id="evaluateWorksheet",
            summary="Evaluate up to a thousand inputs that may use one another's results",
            description="Each item succeeds or fails alone; look at each `status`. Pure: safe to repeat.",
            tag="exploration",
            scope="calculate",
            handler=_worksheet,
            replies={200: Reply("Every item, in the order of the request.", WorksheetAnswer)},
            parameters=(UNITS,),
            body=Worksheet,
            examples=_examples(registry, "worksheet"),
            large_body=True,
        ),
        Endpoint(
            method="POST",
            path="/v1/sweeps",
            operation_id="evaluateSweep",
            summary="Vary one or two inputs and tabulate or plot the outputs",
            description="With `Accept: image/svg+xml` the table comes as a drawing. Pure: safe to repeat.",
            tag="exploration",
            scope="calculate",
            handler=_sweep,
            replies={200: Reply("The table.", SweepTable, other_media_types=(SVG,))},
            parameters=(UNITS,),
            body=Sweep,
            examples=_examples(registry, "sweep"),
            problems=(*_FAILURES, "not-acceptable"),
        ),
        Endpoint(
            method="POST",
            path="/v1/limits",
            operation_id="findLimit",
            summary="Find the value of an input at which the answer turns",
            description="How hot may the day get, how long the cable be, before this stops working? Pure: safe to repeat.",
            tag="exploration",
            scope="calculate",
            handler=_limit,
            replies={200: Reply("Where it turns, and how sure that is.", LimitAnswer)},
            parameters=(UNITS,),
            body=Limit,
            examples=_examples(registry, "limit"),
            problems=_FAILURES,
        ),
    ]


def _examples(registry: Registry, of: Exploration) -> tuple[Example, ...]:
    """What the plugins show of it: of the first that shows one."""
    return next(((p.explorations[of],) for p in registry.plugins.values() if of in p.explorations), ())
