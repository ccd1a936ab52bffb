"""Signing in through an identity provider: OpenID Connect, its authorization code with PKCE (RFC 6749, 7636, 9207), and
signing out of it again (OpenID Connect RP-Initiated Logout 1.0), where it offers that.

Authlib writes the requests and checks the ID token's claims, PyJWT its signature. What must come back unchanged, state, nonce
and verifier, waits in a cookie of the browser that set out, which only this service's return address sees.
"""

import asyncio
import time
from datetime import UTC, datetime
from functools import cache
from typing import Any, NamedTuple

import msgspec
from msgspec import Struct

from coldwright.service.http.callers import Caller
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.tokens import PROVIDER_REST_SECONDS, Tokens, caller_of, no_provider
from coldwright.service.settings import Settings

RETURN, SIGNED_OUT = "/sign-in/return", "/sign-in"
SECONDS = 5.0
"""For each answer of the provider."""
DISCOVERED_FOR = 3600.0
MOST_AT_A_TIME = 20
"""Questions to the provider: nobody can use this service to flood it."""
LEEWAY = 30
"""Seconds by which clocks may differ."""


class NotSignedIn(Exception):  # noqa: N818
    """Why somebody is not signed in, in words for them."""


class _Reply(NamedTuple):
    status_code: int
    content: bytes


class SetOut(NamedTuple):
    """What somebody set out to the provider with."""

    state: str
    nonce: str
    verifier: str


class _Discovered(Struct):
    """Of the discovery document (OpenID Connect Discovery 1.0, 3), what is needed."""

    issuer: str
    authorization_endpoint: str
    token_endpoint: str
    jwks_uri: str
    token_endpoint_auth_methods_supported: tuple[str, ...] = ("client_secret_basic",)
    end_session_endpoint: str = ""


class _Given(Struct):
    """Of the reply of the token endpoint, what is needed."""

    id_token: str
    access_token: str = ""


class CameBack(NamedTuple):
    """Somebody whom the provider vouches for."""

    caller: Caller
    id_token: str
    until: datetime
    """When what it says of them ends."""


class Provider:
    """One issuer, as this service is known to it."""

    def __init__(self, settings: Settings) -> None:
        self._settings = settings
        self._known: tuple[float, _Discovered, Tokens] | None = None
        self._down_until = 0.0
        self._under_way = 0

    @property
    def return_address(self) -> str:
        """Where the provider sends people back to."""
        return self._settings.public_url + RETURN

    @property
    def signed_out_address(self) -> str:
        """Where it sends people who signed out of it; to be registered there, like the other."""
        return self._settings.public_url + SIGNED_OUT

    async def address(self, way: SetOut, *, silent: bool = False) -> str:
        """Where somebody signs in; raises the problem of a provider that does not answer. `silent`: it shall ask nothing."""
        from authlib.oauth2.rfc6749.parameters import prepare_grant_uri
        from authlib.oauth2.rfc7636 import create_s256_code_challenge

        found, _ = await self._discovered()
        address: str = prepare_grant_uri(
            found.authorization_endpoint,
            self._settings.oidc_client_id,
            "code",
            redirect_uri=self.return_address,
            scope="openid",
            state=way.state,
            nonce=way.nonce,
            code_challenge=create_s256_code_challenge(way.verifier),
            code_challenge_method="S256",
            **({"prompt": "none"} if silent else {}),
        )
        return address

    async def farewell(self, id_token: str) -> str:
        """Where somebody signs out of the provider too; empty where it offers no such thing, or does not answer."""
        from authlib.common.urls import add_params_to_uri

        try:
            found, _ = await self._discovered()
        except ProblemRaised:
            return ""
        if not found.end_session_endpoint.startswith(("https://", "http://")):
            return ""
        asked = [("client_id", self._settings.oidc_client_id), ("post_logout_redirect_uri", self.signed_out_address)]
        hint = [("id_token_hint", id_token)] if id_token else []
        address: str = add_params_to_uri(found.end_session_endpoint, [*hint, *asked])
        return address

    async def whoever_came_back(self, code: str, issuer: str | None, way: SetOut) -> CameBack:
        """Whom the provider vouches for; raises `NotSignedIn`, or the problem of a provider that does not answer."""
        found, tokens = await self._discovered()
        if issuer is not None and issuer != found.issuer:
            raise NotSignedIn("The answer is not that of the identity provider that was asked.")
        given = await self._exchange(found, code, way)
        try:
            claims = await asyncio.to_thread(tokens.claims, given.id_token, self._settings.oidc_client_id)
        except ProblemRaised as problem:
            if problem.kind.slug == "identity-unavailable":
                raise
            raise NotSignedIn(f"What the identity provider says of you does not hold. {problem.detail}") from problem
        self._check(claims, given, way)
        return CameBack(caller_of(claims, self._settings), given.id_token, datetime.fromtimestamp(claims["exp"], UTC))

    def _check(self, claims: dict[str, Any], given: _Given, way: SetOut) -> None:
        """That the ID token was made for this attempt, and for us (OpenID Connect Core 1.0, 3.1.3.7)."""
        from authlib.oidc.core import CodeIDToken
        from joserfc.errors import JoseError

        asked = {"client_id": self._settings.oidc_client_id, "nonce": way.nonce, "access_token": given.access_token}
        token = CodeIDToken(claims, {}, {"nonce": {"essential": True, "value": way.nonce}}, asked)
        try:
            token.validate(leeway=LEEWAY)
        except JoseError as error:
            raise NotSignedIn(
                f"What the identity provider says is not for this attempt to sign in: {error}."
            ) from error

    async def _exchange(self, found: _Discovered, code: str, way: SetOut) -> _Given:
        from authlib.oauth2.auth import ClientAuth
        from authlib.oauth2.rfc6749.parameters import prepare_token_request

        settings = self._settings
        body = prepare_token_request(
            "authorization_code",
            code=code,
            redirect_uri=self.return_address,
            code_verifier=way.verifier,
            client_id=settings.oidc_client_id,
        )
        basic = "client_secret_basic" in found.token_endpoint_auth_methods_supported
        how = ("client_secret_basic" if basic else "client_secret_post") if settings.oidc_client_secret else "none"
        headers = {"Content-Type": "application/x-www-form-urlencoded", "Accept": "application/json"}
        address, headers, body = ClientAuth(settings.oidc_client_id, settings.oidc_client_secret, how).prepare(
            "POST", found.token_endpoint, headers, body
        )
        reply = await self._asked("POST", address, headers=headers, content=body)
        if reply.status_code != 200:
            raise NotSignedIn("The identity provider did not confirm who you are. Sign in again.")
        try:
            return msgspec.json.decode(reply.content, type=_Given)
        except msgspec.ValidationError:
            raise NotSignedIn("The identity provider did not say who you are.") from None

    async def _discovered(self) -> tuple[_Discovered, Tokens]:
        """Its addresses, read once an hour."""
        if self._known is not None and time.monotonic() < self._known[0]:
            return self._known[1:]
        issuer = self._settings.oidc_issuer
        reply = await self._asked("GET", f"{issuer.rstrip('/')}/.well-known/openid-configuration")
        try:
            found = msgspec.json.decode(reply.content, type=_Discovered)
        except (msgspec.DecodeError, msgspec.ValidationError):
            raise no_provider() from None
        if found.issuer != issuer:
            raise no_provider()
        tokens = Tokens(self._settings, found.jwks_uri)
        self._known = time.monotonic() + DISCOVERED_FOR, found, tokens
        return found, tokens

    async def _asked(self, method: str, address: str, **sent: Any) -> _Reply:
        import httpx  # a twentieth of the time of a start, and most services have no provider

        if time.monotonic() < self._down_until:
            raise no_provider()
        if self._under_way >= MOST_AT_A_TIME:
            raise ProblemRaised("overloaded", retry_after=2)
        self._under_way += 1
        try:
            async with httpx.AsyncClient(timeout=SECONDS) as client:
                reply = await client.request(method, address, **sent)
                return _Reply(reply.status_code, reply.content)
        except (httpx.HTTPError, httpx.InvalidURL) as error:
            self._down_until = time.monotonic() + PROVIDER_REST_SECONDS
            raise no_provider() from error
        finally:
            self._under_way -= 1


@cache
def provider_of(settings: Settings) -> Provider:
    """The one of a service with these settings."""
    return Provider(settings)
