"""`/v1/worksheets`, `/v1/sweeps`, `/v1/limits`."""

from litestar import Response

from coldwright.contract import Example
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

_SERVICE = {
    "practice": "nec",
    "system_voltage": {"value": 480, "unit": "V"},
    "frequency": {"value": 60, "unit": "Hz"},
    "machines": [
        {
            "machine_id": "north",
            "minimum_circuit_ampacity": {"value": 158, "unit": "A"},
            "maximum_overcurrent_device": {"value": 200, "unit": "A"},
        }
    ],
}
_FEEDER = {
    "practice": "nec",
    "system_voltage": {"value": 480, "unit": "V"},
    "frequency": {"value": 60, "unit": "Hz"},
    "load_current": {"value": 144, "unit": "A"},
    "minimum_ampacity": {"value": 158, "unit": "A"},
    "overcurrent_device": {"value": 200, "unit": "A"},
    "length": {"value": 60, "unit": "m"},
    "conductor_size": "3/0 AWG",
    "sets": 1,
}
WORKSHEET_EXAMPLE = Example(
    "service-then-cable",
    "Invented: the cable takes its ampacity from the service.",
    {
        "items": [
            {"id": "supply", "calculator": "electrical.service", "given": _SERVICE},
            {
                "id": "cable",
                "calculator": "electrical.feeder",
                "given": _FEEDER
                | {"minimum_ampacity": {"from": "supply", "pointer": "/results/feeder/minimum_circuit_ampacity"}},
            },
        ]
    },
)
SWEEP_EXAMPLE = Example(
    "drop-by-length",
    "Invented: the voltage drop of one cable over its length.",
    {
        "calculator": "electrical.feeder",
        "given": _FEEDER,
        "vary": [{"pointer": "/length", "range": {"from": 30, "to": 300, "count": 10}}],
        "keep": ["/results/drop_running_fraction", "/outcome"],
    },
)
LIMIT_EXAMPLE = Example(
    "longest-cable",
    "Invented: how long may the cable be before somebody must look?",
    {
        "calculator": "electrical.feeder",
        "given": _FEEDER,
        "vary": {"pointer": "/length", "from": 10, "to": 600},
        "until": {"outcome": "conditional"},
        "tolerance": 0.5,
    },
)


async def _worksheet(asked: Asked) -> Response[bytes]:
    worksheet, long = await read_body(asked, Worksheet), await is_long(asked)
    answer = await answer_worksheet(asked.services, worksheet, wanted_units(asked), long=long)
    return json_reply(await asked.services.apart(encode, answer))


async def _sweep(asked: Asked) -> Response[bytes]:
    form = preferred(asked.header("accept"), (JSON, SVG))
    sweep = await read_body(asked, Sweep)
    table = await sweep_table(asked.services, sweep, wanted_units(asked))
    if form == SVG:
        return Response(
            await asked.services.apart(plot, table), status_code=200, media_type=SVG, headers={"Vary": "Accept"}
        )
    return json_reply(table, headers={"Vary": "Accept"})


async def _limit(asked: Asked) -> Response[bytes]:
    limit = await read_body(asked, Limit)
    return json_reply(await find_limit(asked.services, limit, wanted_units(asked)))


def endpoints() -> list[Endpoint]:
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
            examples=(WORKSHEET_EXAMPLE,),
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
            examples=(SWEEP_EXAMPLE,),
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
            examples=(LIMIT_EXAMPLE,),
            problems=_FAILURES,
        ),
    ]
