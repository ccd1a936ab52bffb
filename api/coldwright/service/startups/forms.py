"""The forms that an app draws to record a start: the calculator describes every kind of observation."""

import msgspec
from litestar import Response
from msgspec import Raw, Struct

from coldwright.contract.language import LANGUAGES
from coldwright.registry import Served
from coldwright.service.http.endpoint import UNITS, Asked, Endpoint, Parameter, Reply
from coldwright.service.http.replies import cached_reply, wanted_units
from coldwright.service.startups.asking import ask
from coldwright.service.startups.verdict import configuration_of, find_startup

LANG_OF_FORMS = Parameter(
    "lang",
    "query",
    "Language of labels and help, as far as they are translated.",
    {"type": "string", "enum": list(LANGUAGES)},
)


class _Answer(Struct):
    results: Raw


async def get_forms(asked: Asked) -> Response[bytes]:
    """The forms; of a start-up that is named each says whether that one needs it."""
    named, language = asked.query("startup"), asked.query("lang") or "en"
    body = b'{"language":"' + language.encode() + b'"}'
    if named is not None:
        startup = await find_startup(asked.services, asked.caller.tenant, named)
        body = body[:-1] + b',"configuration":' + configuration_of(startup.document) + b"}"
    evaluated = await ask(asked.services, "start_forms", body, wanted_units(asked))
    return cached_reply(asked, bytes(msgspec.json.decode(evaluated.body, type=_Answer).results))


def forms_endpoint(start: Served, forms: Served, failures: tuple[str, ...]) -> Endpoint:
    """Its address: below the calculator whose observations it describes."""
    return Endpoint(
        method="GET",
        path=f"/v1/calculators/{start.calculator.family}/{start.calculator.name}/forms",
        operation_id="getStartupForms",
        summary="Forms for recording a start",
        description=(
            "Every kind of observation with label, help, fields, units, words and ranges, which set-up needs it and how "
            "long it lasts. With `startup` each says whether that start-up needs it."
        ),
        tag="startups",
        scope="field",
        handler=get_forms,
        replies={200: Reply("The forms.", forms.local.results), 304: Reply("You have them already.")},
        parameters=(
            Parameter("startup", "query", "A start-up of yours.", {"type": "string", "minLength": 1, "maxLength": 100}),
            UNITS,
            LANG_OF_FORMS,
        ),
        problems=("not-found", "refused-input", "store-unavailable", *failures),
    )
