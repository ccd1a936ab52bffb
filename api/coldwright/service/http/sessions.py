"""People in a browser: the cookie of their session, and the token in each form that shows that this service drew it.

The cookie is sent by no other site's page (`SameSite=Strict`) and read by no script (`HttpOnly`). It opens what is read, and
what a form of these pages does, and nothing else: whatever changes something by another way needs a key in a header.
"""

import hashlib
import hmac
import secrets
from typing import Any
from urllib.parse import parse_qsl

from litestar import Response
from litestar.datastructures import Cookie

from coldwright.service.http.body import raw_body
from coldwright.service.http.endpoint import Asked, Endpoint
from coldwright.service.http.intake import LONG
from coldwright.service.http.origins import is_of_host
from coldwright.service.http.problems import ProblemRaised
from coldwright.store.sessions import LASTS

COOKIE = "coldwright_session"
FORM = "application/x-www-form-urlencoded"
TOKEN = "form_token"  # noqa: S105 - the name of the member, not a secret
MOST_MEMBERS = 5_000
COOKIE_LASTS = 2 * LASTS
"""Longer than the session: by a cookie whose session ended, its owner is known to have been signed in, and loses no form."""
_READ = ("GET", "HEAD")
_of_this_process = secrets.token_bytes(32)
"""Where nobody signs in, this distinguishes the pages of a process before."""


def session_of(asked: Asked, endpoint: Endpoint) -> str | None:
    """The token of the session that the request comes with, where it may count."""
    if asked.method not in _READ and not endpoint.form:
        return None
    return asked.cookies.get(COOKIE)


def form_token(asked: Asked) -> str:
    """What a form on this page must send back."""
    session = asked.cookies.get(COOKIE, "").encode()
    return hmac.new(_of_this_process if asked.caller.means == "local" else session, b"form", hashlib.sha256).hexdigest()


async def read_form(asked: Asked) -> list[tuple[str, str]]:
    """The members of a form, in their order, without the token; raises a problem for what is no form."""
    return [(name, value) for name, value in await _members(asked) if name != TOKEN]


async def check_form(asked: Asked) -> None:
    """Raise a problem unless a page of this service sent the form, to whom that token was given."""
    origin = asked.header("origin")
    if origin is not None and not is_of_host(origin, asked.header("host")):
        raise ProblemRaised("form-not-ours")
    sent = [value for name, value in await _members(asked) if name == TOKEN]
    if len(sent) != 1 or not hmac.compare_digest(sent[0].encode(), form_token(asked).encode()):
        raise ProblemRaised("form-not-ours")


def members_in(body: bytes) -> list[tuple[str, str]]:
    """The members of a short form that was kept, without the token; raises a problem for what is no form."""
    return [(name, value) for name, value in _parsed(body) if name != TOKEN]


async def _members(asked: Asked) -> list[tuple[str, str]]:
    """Every member of a form, read apart from the event loop where it is long."""
    body = await raw_body(asked)
    return await asked.services.apart(_parsed, body, long=True) if len(body) > LONG else _parsed(body)


def _parsed(body: bytes) -> list[tuple[str, str]]:
    try:
        return parse_qsl(body.decode("ascii"), keep_blank_values=True, max_num_fields=MOST_MEMBERS, errors="strict")
    except ValueError:
        raise ProblemRaised("not-json", "The body is no form that can be read.") from None


def with_session(response: Response[Any], token: str, *, secure: bool) -> Response[Any]:
    """The response with the cookie of a session that was begun; without a token, with one that takes it away."""
    response.set_cookie(
        Cookie(
            key=COOKIE,
            value=token,
            path="/",
            max_age=int(COOKIE_LASTS.total_seconds()) if token else 0,
            httponly=True,
            samesite="strict",
            secure=secure,
        )
    )
    return response
