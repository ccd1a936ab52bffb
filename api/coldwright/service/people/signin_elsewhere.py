"""The way to the identity provider and back. Whoever comes back is signed in as with a key: by the same cookie of a session."""

import hmac
import secrets
from base64 import urlsafe_b64decode, urlsafe_b64encode
from datetime import timedelta

from litestar import Response
from litestar.datastructures import Cookie

from coldwright.service.http.endpoint import Asked, Endpoint, Parameter
from coldwright.service.http.sessions import with_session
from coldwright.service.people.addresses import page_at
from coldwright.service.people.provider import LEEWAY, RETURN, CameBack, NotSignedIn, SetOut, provider_of
from coldwright.service.people.shell import see, shown
from coldwright.service.people.signin import NEXT, inside, is_secure, sign_in_form
from coldwright.service.people.signout import with_account
from coldwright.service.settings import Settings
from coldwright.store.sessions import Holder, open_session_of

WAY = "coldwright_way"
"""The cookie with what somebody set out with. `Lax`: the provider's page sends them back, and a strict one would stay away."""
MINUTES = 10
_SHORT = {"type": "string", "maxLength": 4000}
CODE = Parameter("code", "query", "What the provider gives for signing in.", _SHORT)
STATE = Parameter("state", "query", "What was sent along.", _SHORT)
ERROR = Parameter("error", "query", "Why the provider refuses.", _SHORT)
ISSUER = Parameter("iss", "query", "Which provider answers.", _SHORT)
SILENT = Parameter("silent", "query", "Whether the provider shall ask nothing.", {"type": "string", "enum": ["yes"]})
ASKS_SOMETHING = ("login_required", "interaction_required", "consent_required", "account_selection_required")
"""What it answers where it was to ask nothing and has to (OpenID Connect Core 1.0, 3.1.2.6)."""


async def _leave(asked: Asked) -> Response[bytes]:
    """To the provider, with a state, a nonce and a verifier that nobody can guess."""
    way = SetOut(secrets.token_urlsafe(32), secrets.token_urlsafe(32), secrets.token_urlsafe(48))
    address = await provider_of(asked.services.settings).address(way, silent=asked.query("silent") == "yes")
    there = urlsafe_b64encode(inside(asked.query("next")).encode()).decode()
    response = see(address)
    response.set_cookie(_way(asked, ".".join((*way, there)), 60 * MINUTES))
    response.headers["Cache-Control"] = "no-store"
    return response


def _way(asked: Asked, value: str, seconds: int) -> Cookie:
    secure = is_secure(asked)
    return Cookie(key=WAY, value=value, path=RETURN, max_age=seconds, httponly=True, samesite="lax", secure=secure)


async def _come_back(asked: Asked) -> Response[bytes]:
    """Whoever set out in this browser is signed in; anybody else is shown why not."""
    try:
        came, there = await _arrived(asked)
    except NotSignedIn as why:
        response = await sign_in_form(asked, str(why), 401)
    else:
        caller, until = came.caller, came.until + timedelta(seconds=LEEWAY)
        holder = Holder(caller.tenant, caller.id, caller.person, tuple(sorted(caller.scopes)), caller.roles)
        token = await asked.services.stored(open_session_of, asked.services.database, holder, until)
        # a page of ours that leads on, and no redirect: a browser that comes from elsewhere would not send a strict cookie
        response = with_session(await shown(asked, "signed_in.html", there=there), token, secure=is_secure(asked))
        with_account(asked, response, came.id_token)
    response.set_cookie(_way(asked, "", 0))
    return response


async def _arrived(asked: Asked) -> tuple[CameBack, str]:
    *way, there = (asked.cookies.get(WAY) or "...").split(".")
    if len(way) != len(SetOut._fields) or not all(way):
        raise NotSignedIn("This browser did not set out to sign in, or took longer than ten minutes. Sign in again.")
    set_out = SetOut(*way)
    if not hmac.compare_digest((asked.query("state") or "").encode(), set_out.state.encode()):
        raise NotSignedIn("This answer belongs to another attempt to sign in. Sign in again.")
    code = asked.query("code")
    if asked.query("error") in ASKS_SOMETHING:
        raise NotSignedIn("Your session has ended. Sign in again.")
    if asked.query("error") or not code:
        raise NotSignedIn("The identity provider did not let you in. Sign in again, or ask whoever runs it.")
    came = await provider_of(asked.services.settings).whoever_came_back(code, asked.query("iss"), set_out)
    if not came.caller.scopes:
        raise NotSignedIn("You are known, and your account may not use this service. Ask whoever runs it.")
    return came, inside(_plain(there))


def _plain(text: str) -> str:
    """Where somebody wanted to go, from the cookie; nothing for what is none."""
    try:
        return urlsafe_b64decode(text.encode()).decode()
    except ValueError:
        return ""


def endpoints(settings: Settings) -> list[Endpoint]:
    """The addresses; none where no provider is set."""
    if not settings.oidc_client_id:
        return []
    return [
        page_at("/sign-in/provider", "LeaveToSignIn", "public", _leave, NEXT, SILENT),
        page_at(RETURN, "ComeBackSignedIn", "public", _come_back, CODE, STATE, ERROR, ISSUER, open_query=True),
    ]
