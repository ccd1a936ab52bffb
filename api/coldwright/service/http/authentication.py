"""From the headers of a request to its caller: an API key, a token of an identity provider, or the local machine."""

import hashlib
import time
from collections.abc import Awaitable, Callable
from datetime import UTC, datetime
from typing import Any

from litestar.datastructures import Headers

from coldwright.service.http.callers import ALL_SCOPES, LOCAL, NOBODY, Caller
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.settings import Settings
from coldwright.store import Database, StoreUnavailable
from coldwright.store.keys import PREFIX, Key, find_key
from coldwright.store.sessions import PREFIX as SESSION_PREFIX
from coldwright.store.sessions import key_of_session

REMEMBER_SECONDS = 2.0
"""How long a key is trusted without asking the store again: a revoked one works at most this much longer."""

REMEMBER_WITHOUT_STORE_SECONDS = 900.0
"""The same while the store does not answer: calculators need no store, and go on answering whoever was known."""

STORE_REST_SECONDS = 3.0
"""A store that did not answer is not asked again for so long where a caller is remembered: each attempt takes its time."""

_ASK_FOR_KEY = {"WWW-Authenticate": 'Bearer realm="coldwright"'}


Ask = Callable[..., Awaitable[Caller]]
"""Runs what blocks on the table of keys in a thread; raises `TimeoutError` where that takes too long."""


class Authenticator:
    """Knows who is behind a request.

    Whether keys are needed at all is decided once, for the life of the process: see `keys_needed`. So nothing that becomes
    of the table of keys later opens the service.
    """

    def __init__(self, settings: Settings, database: Database, ask: Ask, *, open_address: bool) -> None:
        self._database, self._ask = database, ask
        self._remembered: dict[str, tuple[float, Caller]] = {}
        self._store_rests_until = 0.0
        self.used: dict[str, datetime] = {}
        """When keys were used since that was kept last."""
        self._tokens = _Tokens(settings) if settings.oidc_jwks_url else None
        self.keys_needed = open_address or settings.require_keys or self._tokens is not None
        """Bound elsewhere than loopback, they are; on loopback, where it is set or one had been made before the start."""

    async def caller(self, secret: str | None) -> Caller:
        """The caller; raises a problem when a key is missing or not known, and `StoreUnavailable`."""
        if secret is None:
            if self.keys_needed:
                raise ProblemRaised("key-missing", "The request carries no key.", headers=_ASK_FOR_KEY)
            return LOCAL
        now = time.monotonic()
        until, caller = self._remembered.get(secret, (float("-inf"), NOBODY))
        if caller.means == "key":
            self.used[caller.id] = datetime.now(UTC)
        if now < until or (now < self._store_rests_until and now < until + REMEMBER_WITHOUT_STORE_SECONDS):
            return caller
        try:
            return await self._ask(self._find, secret)
        except (StoreUnavailable, TimeoutError) as error:
            self._store_rests_until = time.monotonic() + STORE_REST_SECONDS
            if now < until + REMEMBER_WITHOUT_STORE_SECONDS:
                return caller
            raise StoreUnavailable(str(error) or "the table of keys does not answer") from error

    def _find(self, secret: str) -> Caller:
        now = time.monotonic()
        try:
            caller = self._known(secret)
        except ProblemRaised:
            self._remembered.pop(secret, None)
            raise
        if caller.means == "key":
            self.used[caller.id] = datetime.now(UTC)
        if len(self._remembered) > 10_000:
            self._remembered.clear()
        self._remembered[secret] = (now + REMEMBER_SECONDS, caller)
        return caller

    def forget(self, secret: str) -> None:
        """Ask the store again at its next request: a session that was ended."""
        self._remembered.pop(secret, None)

    def _known(self, secret: str) -> Caller:
        if secret.startswith((PREFIX, SESSION_PREFIX)):
            look = find_key if secret.startswith(PREFIX) else key_of_session
            if (key := look(self._database, secret)) is not None:
                return _caller_with(key)
        elif self._tokens is not None:
            return self._tokens.caller(secret)
        raise ProblemRaised("key-missing", "The key is not known, or was revoked.", headers=_ASK_FOR_KEY)


def _caller_with(key: Key) -> Caller:
    return Caller(
        key.tenant,
        key.id,
        frozenset(key.scopes) & ALL_SCOPES,
        "key",
        "us" if key.units == "us" else "metric",
        key.person,
        key.roles,
    )


def secret_in(headers: Headers) -> str | None:
    """The key or token that a request carries. The token of a session comes in a cookie alone."""
    secret = _sent(headers)
    return None if secret is not None and secret.startswith(SESSION_PREFIX) else secret


def _sent(headers: Headers) -> str | None:
    authorization = headers.get("authorization")
    if authorization is None:
        return headers.get("x-api-key")
    scheme, _, secret = authorization.partition(" ")
    return secret.strip() if scheme.lower() == "bearer" and secret.strip() else authorization


class _Tokens:
    """Bearer tokens of an identity provider, checked with PyJWT against the provider's published keys."""

    def __init__(self, settings: Settings) -> None:
        import jwt  # an extra: needed only by those who use it

        self._jwt = jwt
        self._settings = settings
        self._keys = jwt.PyJWKClient(settings.oidc_jwks_url, timeout=3)
        self._down_until = 0.0

    def caller(self, token: str) -> Caller:
        """The caller named by the token: `tenant` (else `sub`) and `scope`."""
        jwt = self._jwt
        try:
            key = self._signing_key(token)
            claims = jwt.decode(
                token,
                key,
                algorithms=["RS256", "RS384", "RS512", "ES256", "ES384", "PS256", "EdDSA"],
                audience=self._settings.oidc_audience,
                issuer=self._settings.oidc_issuer,
                options={"require": ["exp", "iss", "aud", "sub"]},
            )
        except jwt.PyJWTError as error:
            raise ProblemRaised("key-missing", f"The token is not good: {error}.", headers=_ASK_FOR_KEY) from error
        subject, tenant, scope = claims["sub"], claims.get("tenant"), claims.get("scope", "")
        scopes = frozenset(scope.split() if isinstance(scope, str) else ()) & ALL_SCOPES
        own = tenant if isinstance(tenant, str) and tenant else f"sub:{subject}"  # no key's tenant has a colon
        roles = claims.get("roles", ())
        held = tuple(r for r in roles if isinstance(r, str)) if isinstance(roles, list) else ()
        return Caller(_name(own), _name(f"sub:{subject}"), scopes, "token", person=str(subject)[:200], roles=held)

    def _signing_key(self, token: str) -> Any:
        if time.monotonic() < self._down_until:
            raise _no_provider()
        try:
            return self._keys.get_signing_key_from_jwt(token)
        except self._jwt.PyJWKClientConnectionError as error:
            self._down_until = time.monotonic() + PROVIDER_REST_SECONDS
            raise _no_provider() from error


PROVIDER_REST_SECONDS = 3.0
"""How long a provider that did not answer is not asked again: each attempt holds up a thread."""


def _no_provider() -> ProblemRaised:
    return ProblemRaised("identity-unavailable", retry_after=PROVIDER_REST_SECONDS)


def _name(text: str) -> str:
    """As the store can hold it; never two that are one after shortening."""
    return text if len(text) <= 64 and text.isprintable() else hashlib.sha256(text.encode()).hexdigest()
