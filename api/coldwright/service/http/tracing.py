"""W3C Trace Context: one id through the log, the problem and whoever called us; and the caller's own request id."""

import random
import re

_TRACEPARENT = re.compile(r"[0-9a-f]{2}-([0-9a-f]{32})-([0-9a-f]{16})-[0-9a-f]{2}(?:-.*)?")


def trace_id(traceparent: str | None) -> str:
    """Trace id of the header, or a new one."""
    if traceparent and (match := _TRACEPARENT.fullmatch(traceparent)) and match[1].strip("0"):
        return match[1]
    return f"{random.getrandbits(128):032x}"  # it has to be unlike others, not hard to guess


def new_span_id() -> str:
    """Id of our part of the trace."""
    return f"{random.getrandbits(64) or 1:016x}"


def traceparent_of(trace: str, span: str) -> str:
    """The header that says which trace an answer belongs to."""
    return f"00-{trace}-{span}-01"


_REQUEST_ID = re.compile(r"[\x21-\x7e]{1,128}")


def request_id(sent: str | None, trace: str) -> str:
    """The caller's own id of the request where it sent one that can be sent back, else the trace id."""
    return sent if sent and _REQUEST_ID.fullmatch(sent) else trace
