"""`Idempotency-Key`: the same request sent twice makes one job."""

import re

from coldwright.contract import Refused, field_error
from coldwright.service.http.endpoint import Asked, Parameter

KEY = Parameter(
    "Idempotency-Key",
    "header",
    "Your own key of this request: sent again with the same body it makes no second job.",
    {"type": "string", "minLength": 1, "maxLength": 200, "pattern": r"^[\x21-\x7e]{1,200}$"},
)


def key_of(asked: Asked) -> str | None:
    """The key, which may stand in quotation marks as the draft of the IETF has it."""
    sent = asked.header("idempotency-key")
    if sent is None:
        return None
    key = sent.strip().removeprefix('"').removesuffix('"')
    if not re.fullmatch(KEY.schema["pattern"], key):
        raise wrong_key("A key is one to 200 characters of ASCII without spaces.", "not_allowed")
    return key


def wrong_key(text: str, code: str) -> Refused:
    """The refusal of a key."""
    return Refused([field_error("/header/Idempotency-Key", text, code=code)])
