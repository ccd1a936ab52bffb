"""Signing in with a key, and out again. Only where keys are needed; the session is never more than its key."""

import hashlib
import hmac
import secrets
from urllib.parse import quote

from litestar import Response
from litestar.datastructures import Cookie

from coldwright.service.http.endpoint import Asked, Endpoint, Parameter, Reply
from coldwright.service.http.origins import is_of_host
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import cached_reply
from coldwright.service.http.sessions import TOKEN, read_form, with_session
from coldwright.service.people.addresses import form_at, page_at
from coldwright.service.people.shell import asset, see, shown
from coldwright.store.sessions import open_session

DOOR = "coldwright_door"
"""The cookie that binds the form for signing in to the browser that it was shown to."""
ACCOUNT = "coldwright_account"
"""The cookie of a browser in which somebody came from the identity provider: once their session ends, that is asked first."""
SCRIPT = Reply("A file that pages load.", str, "text/javascript")
NEXT = Parameter("next", "query", "Where to go then.", {"type": "string", "maxLength": 4000})


def inside(address: str | None) -> str:
    """The address, if it is one of this service; else the yard."""
    if not address or not address.startswith("/") or address.startswith("//") or "\\" in address:
        return "/yard"
    return address if address.isprintable() else "/yard"  # a browser passes over tabs and breaks: `/<tab>/` is `//`


def _token(door: str) -> str:
    return hashlib.sha256(f"form {door}".encode()).hexdigest()


async def sign_in_form(asked: Asked, wrong: str = "", status: int = 200) -> Response[bytes]:
    """The page where somebody signs in, and what went wrong before."""
    door = asked.cookies.get(DOOR) or secrets.token_urlsafe(24)
    response = await shown(
        asked,
        "sign_in.html",
        status=status,
        token=_token(door),
        wrong=wrong,
        next=inside(asked.query("next")),
        elsewhere=bool(asked.services.settings.oidc_client_id),
    )
    cookie = Cookie(key=DOOR, value=door, path="/sign-in", httponly=True, samesite="strict", secure=is_secure(asked))
    response.set_cookie(cookie)
    return response


def is_secure(asked: Asked) -> bool:
    """Whether cookies go over TLS alone."""
    return asked.services.settings.public_url.startswith("https://")


async def _get(asked: Asked) -> Response[bytes]:
    there = asked.query("next")
    if asked.services.settings.oidc_client_id and asked.cookies.get(ACCOUNT) and there:
        return see(f"/sign-in/provider?silent=yes&next={quote(inside(there), safe='/')}")
    return await sign_in_form(asked)


async def _post(asked: Asked) -> Response[bytes]:
    sent = dict(await read_form(asked))
    tokens = [
        part.partition("=")[2] for part in (await asked.body()).decode("latin-1").split("&") if part.startswith(TOKEN)
    ]
    origin = asked.header("origin")
    if origin is not None and not is_of_host(origin, asked.header("host")):
        raise ProblemRaised("form-not-ours")
    door = asked.cookies.get(DOOR, "")
    if not door or len(tokens) != 1 or not hmac.compare_digest(tokens[0].encode(), _token(door).encode()):
        raise ProblemRaised("form-not-ours")
    services = asked.services
    opened = await services.stored(open_session, services.database, sent.get("key", "").strip())
    if opened is None:
        return await sign_in_form(asked, "This key is not known, or is no longer in force.", 401)
    return with_session(see(inside(sent.get("next"))), opened[1], secure=is_secure(asked))


async def _asset(asked: Asked) -> Response[bytes]:
    name = asked.path("name")
    if name not in _ASSETS:
        raise ProblemRaised("not-found")
    return cached_reply(asked, asset(name), _ASSETS[name])


_ASSETS = {"page.js": "text/javascript"}


def endpoints() -> list[Endpoint]:
    """The addresses of this resource."""
    return [
        page_at("/sign-in", "SignIn", "public", _get, NEXT),
        form_at("/sign-in", "SignIn", "public", _post, NEXT),
        page_at("/assets/{name}", "Asset", "public", _asset, reply=SCRIPT),
    ]
