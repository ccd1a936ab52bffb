"""RFC 9457 problem details: one catalogue, one shape, for everything that is not an answer."""

from collections.abc import Sequence
from importlib.resources import files
from typing import Annotated, Any

import msgspec
from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.contract import FieldError, Malformed, Refused
from coldwright.engine import Failure

MEDIA_TYPE = "application/problem+json"


class ProblemKind(Struct, frozen=True):
    """An entry of the catalogue: what a `type` address answers with."""

    slug: Annotated[str, Meta(description="Last part of the `type` address.")]
    status: Annotated[int, Meta(ge=400, le=599, description="HTTP status.")]
    title: Annotated[str, Meta(description="The same for every problem of this type.")]
    meaning: Annotated[str, Meta(description="What happened and what to do.")]


KINDS: dict[str, ProblemKind] = {
    kind.slug: kind
    for kind in msgspec.json.decode(
        files("coldwright.service.http").joinpath("problems.json").read_bytes(), type=list[ProblemKind]
    )
}


class Problem(Struct, frozen=True, omit_defaults=True):
    """RFC 9457 problem details."""

    type: Annotated[str, Meta(description="Address that answers with what this type of problem means.")]
    title: Annotated[str, Meta(description="Short summary, the same for every problem of the type.")]
    status: Annotated[int, Meta(ge=400, le=599, description="HTTP status.")]
    detail: Annotated[str, Meta(description="What happened this time.")]
    instance: Annotated[str | UnsetType, Meta(description="Trace id of the request, as a URN.")] = UNSET
    errors: Annotated[tuple[FieldError, ...], Meta(max_length=50, description="Every wrong field, up to fifty.")] = ()


class ProblemRaised(Exception):  # noqa: N818
    """Raised anywhere in the service to answer with a problem."""

    def __init__(
        self,
        slug: str,
        detail: str = "",
        *,
        errors: tuple[FieldError, ...] = (),
        retry_after: float | None = None,
        headers: dict[str, str] | None = None,
        members: dict[str, Any] | None = None,
    ) -> None:
        """`members` stand beside those that every problem has (RFC 9457, 3.2)."""
        self.kind, self.detail, self.errors = KINDS[slug], detail, errors
        self.members = dict(members or {})
        self.headers = dict(headers or {})
        if retry_after is not None:
            self.headers["Retry-After"] = str(max(1, round(retry_after)))
        super().__init__(f"{slug}: {detail}")

    def problem(self, trace_id: str = "", public_url: str = "") -> Problem:
        """The body; its type is an absolute address where the service knows its own."""
        return Problem(
            type=f"{public_url}/problems/{self.kind.slug}",
            title=self.kind.title,
            status=self.kind.status,
            detail=self.detail or self.kind.meaning,
            instance=f"urn:trace:{trace_id}" if trace_id else UNSET,
            errors=self.errors,
        )

    def response(self, trace_id: str = "", public_url: str = "") -> Response[bytes]:
        """The response."""
        return Response(
            msgspec.json.encode(msgspec.to_builtins(self.problem(trace_id, public_url)) | self.members),
            media_type=MEDIA_TYPE,
            status_code=self.kind.status,
            headers=self.headers,
        )


def refused_input(errors: Sequence[FieldError]) -> ProblemRaised:
    """The problem of wrong fields."""
    count = len(errors)
    text = f"{count} field{'s' if count > 1 else ''} refused: {', '.join(e.pointer for e in errors[:10])}."
    return ProblemRaised("refused-input", text, errors=tuple(errors[:50]))


def as_problem(error: Exception) -> ProblemRaised | None:
    """The problem that an error of a lower layer comes to; nothing for one that nobody foresaw."""
    if isinstance(error, ProblemRaised):
        return error
    if isinstance(error, Refused):
        return refused_input(error.errors)
    if isinstance(error, Malformed):
        return ProblemRaised("not-json", error.detail)
    if isinstance(error, RecursionError):  # of whatever walks through an input; a calculator's own is a `Failure`
        return ProblemRaised("not-json", "The body is nested too deeply.")
    if isinstance(error, Failure):
        retry = error.retry_after if error.slug != "calculator-died" else 1.0
        return ProblemRaised(error.slug, str(error), retry_after=retry)
    return None
