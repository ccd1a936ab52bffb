"""From the headers of a request to its caller: an API key, a token of an identity provider, or the local machine."""

import time
from collections.abc import Awaitable, Callable
from datetime import UTC, datetime

from litestar.datastructures import Headers

from coldwright.contract.answer import Units
from coldwright.service.http.callers import ALL_SCOPES, LOCAL, NOBODY, Caller
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.tokens import ASK_FOR_KEY, Tokens
from coldwright.service.settings import Settings
from coldwright.store import Database, StoreUnavailable
from coldwright.store.keys import PREFIX, Key, find_key
from coldwright.store.sessions import PREFIX as SESSION_PREFIX
from coldwright.store.sessions import Holder, whose_session

REMEMBER_SECONDS = 2.0
"""How long a key is trusted without asking the store again: a revoked one works at most this much longer."""

REMEMBER_WITHOUT_STORE_SECONDS = 900.0
"""The same while the store does not answer: calculators need no store, and go on answering whoever was known."""

STORE_REST_SECONDS = 3.0
"""A store that did not answer is not asked again for so long where a caller is remembered: each attempt takes its time."""

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
        self._tokens = Tokens(settings, settings.oidc_jwks_url) if settings.oidc_jwks_url else None
        self.keys_needed = (
            open_address or settings.require_keys or self._tokens is not None or bool(settings.oidc_client_id)
        )
        """Bound elsewhere than loopback, they are; on loopback, where it is set or one had been made before the start."""

    async def caller(self, secret: str | None) -> Caller:
        """The caller; raises a problem when a key is missing or not known, and `StoreUnavailable`."""
        if secret is None:
            if self.keys_needed:
                raise ProblemRaised("key-missing", "The request carries no key.", headers=ASK_FOR_KEY)
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
            look = find_key if secret.startswith(PREFIX) else whose_session
            if (found := look(self._database, secret)) is not None:
                return _caller_with(found)
        elif self._tokens is not None:
            return self._tokens.caller(secret)
        raise ProblemRaised("key-missing", "The key is not known, or was revoked.", headers=ASK_FOR_KEY)


def _caller_with(found: Key | Holder) -> Caller:
    scopes = frozenset(found.scopes) & ALL_SCOPES
    if isinstance(found, Holder):
        return Caller(found.tenant, found.id, scopes, "token", person=found.person, roles=found.roles)
    units: Units = "us" if found.units == "us" else "metric"
    return Caller(found.tenant, found.id, scopes, "key", units, found.person, found.roles)


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
