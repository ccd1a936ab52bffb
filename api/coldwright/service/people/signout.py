"""Signing out: here, and of the identity provider where somebody came from one that offers it."""

from litestar import Response
from litestar.datastructures import Cookie

from coldwright.service.http.endpoint import Asked, Endpoint
from coldwright.service.http.sessions import COOKIE, with_session
from coldwright.service.people.addresses import form_at
from coldwright.service.people.provider import provider_of
from coldwright.service.people.shell import see, shown
from coldwright.service.people.signin import ACCOUNT, is_secure
from coldwright.store.sessions import LASTS, end_session

OUT = "/sign-out"
TOKEN_OF_ACCOUNT = "coldwright_id_token"  # noqa: S105 - the name of the cookie
"""Holds the ID token, which a provider wants back when somebody signs out: kept by the browser, and not by this service."""
LONGEST = 3_500
"""Of a cookie that every browser keeps; without the token the provider asks whom to sign out."""


def with_account(asked: Asked, response: Response[bytes], id_token: str) -> None:
    """Let the browser remember that somebody came from the provider; without a token, forget it."""
    kept = id_token if len(id_token) <= LONGEST else ""
    for name, value, path in ((TOKEN_OF_ACCOUNT, kept, OUT), (ACCOUNT, "yes" if id_token else "", "/sign-in")):
        seconds = int(LASTS.total_seconds()) if value else 0
        secure = is_secure(asked)
        response.set_cookie(
            Cookie(key=name, value=value, path=path, max_age=seconds, httponly=True, samesite="strict", secure=secure)
        )


async def _out(asked: Asked) -> Response[bytes]:
    """The session ends at once; then the browser is led on to the provider, by a page, for a form may lead nowhere else."""
    token = asked.cookies.get(COOKIE)
    if token:
        await asked.services.stored(end_session, asked.services.database, token)
        asked.services.forget(token)
    there, settings = "", asked.services.settings
    if settings.oidc_client_id and asked.caller.means == "token":
        there = await provider_of(settings).farewell(asked.cookies.get(TOKEN_OF_ACCOUNT, ""))
    response = await shown(asked, "signed_out.html", there=there) if there else see("/sign-in")
    with_account(asked, response, "")
    return with_session(response, "", secure=is_secure(asked))


def endpoints() -> list[Endpoint]:
    """The address of this resource."""
    return [form_at(OUT, "SignOut", "calculate", _out)]
