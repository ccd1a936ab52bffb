"""The language of a page: as its address asks for it, else as the browser says."""

from coldwright.contract.language import LANGUAGES, chosen
from coldwright.service.http.endpoint import Asked, Parameter

LANG = Parameter(
    "lang",
    "query",
    "Language of a page, as far as it is translated; `en` is the English of the job's practice. Default: by `Accept-Language`.",
    {"type": "string", "enum": list(LANGUAGES)},
)


def language_of(asked: Asked) -> str:
    """Of the page that is wanted."""
    return chosen(asked.query("lang"), asked.header("accept-language"))
