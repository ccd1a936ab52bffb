"""What a browser lets applications of other origins send and see (CORS, the Fetch standard). No cookies, for there are none."""

from litestar.config.cors import CORSConfig
from litestar.datastructures import Headers

SENT = ["Authorization", "Content-Type", "Idempotency-Key", "If-Match", "If-None-Match", "Last-Event-ID", "traceparent"]
SENT += ["tracestate", "X-API-Key", "X-Request-Id"]
EXPOSED = ["Deprecation", "ETag", "Location", "RateLimit", "RateLimit-Policy", "Retry-After", "Sunset", "traceparent"]
EXPOSED += ["WWW-Authenticate", "X-Request-Id"]
_ALWAYS_SENT = {"accept", "accept-language", "content-language", "content-type"}
"""Headers that the Fetch standard lets anybody send."""


class Origins:
    """The origins that may call, and why a browser's question before a call is answered with no."""

    def __init__(self, names: list[str]) -> None:
        self.config = CORSConfig(
            allow_origins=names,
            allow_methods=["GET", "HEAD", "PUT", "POST", "DELETE"],
            allow_headers=SENT,
            expose_headers=EXPOSED,
            allow_credentials=False,
            max_age=600,
        )
        self._sent = {name.lower() for name in SENT} | _ALWAYS_SENT

    def refusal(self, method: str, headers: Headers) -> str:
        """What is not allowed of the call that a browser asks about; empty where all of it is, or nothing was asked."""
        origin = headers.get("origin")
        if method != "OPTIONS" or not origin:
            return ""
        if not self.config.is_origin_allowed(origin):
            return f"COLDWRIGHT_CORS_ORIGINS does not name {origin[:200]!r}."
        wanted = headers.get("access-control-request-method")
        if wanted and wanted not in self.config.allow_methods:
            return f"The method {wanted[:20]!r} is none of {', '.join(self.config.allow_methods)}."
        asked = [name.strip() for name in headers.get("access-control-request-headers", "").split(",")]
        unknown = [name[:100] for name in asked if name and name.lower() not in self._sent]
        return f"Headers that may not be sent from another origin: {', '.join(unknown[:10])}." if unknown else ""


def is_of_host(origin: str, host: str | None) -> bool:
    """Whether a page that says it is of this origin came from the host that was asked, whatever its scheme."""
    return origin.partition("://")[2] == host


def origins_of(setting: str) -> Origins | None:
    """From `COLDWRIGHT_CORS_ORIGINS`; nothing where no other origin may call."""
    names = [origin.strip() for origin in setting.split(",") if origin.strip()]
    return Origins(names) if names else None
