"""Tokens of an identity provider: checked with PyJWT against the provider's published keys, and what their claims allow here."""

import hashlib
import time
from collections.abc import Iterable, Mapping
from typing import Any

from coldwright.service.http.callers import ALL_SCOPES, Caller
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.settings import Settings, scope_map_in

ALGORITHMS = ["RS256", "RS384", "RS512", "ES256", "ES384", "PS256", "EdDSA"]
PROVIDER_REST_SECONDS = 3.0
"""How long a provider that did not answer is not asked again: each attempt holds up a thread."""
ASK_FOR_KEY = {"WWW-Authenticate": 'Bearer realm="coldwright"'}


class Tokens:
    """Signed by the keys of one provider."""

    def __init__(self, settings: Settings, keys_url: str) -> None:
        import jwt  # an extra: needed only by those who use it

        self._jwt, self._settings = jwt, settings
        self._keys = jwt.PyJWKClient(keys_url, timeout=3)
        self._down_until = 0.0

    def caller(self, token: str) -> Caller:
        """The caller named by a bearer token; raises a problem for one that is not good."""
        return caller_of(self.claims(token, self._settings.oidc_audience), self._settings)

    def claims(self, token: str, audience: str) -> dict[str, Any]:
        """What a token for `audience` says; raises a problem where it is not the provider's, not for us, or too old."""
        jwt = self._jwt
        try:
            claims: dict[str, Any] = jwt.decode(
                token,
                self._signing_key(token),
                algorithms=ALGORITHMS,
                audience=audience,
                issuer=self._settings.oidc_issuer,
                options={"require": ["exp", "iss", "aud", "sub"]},
            )
        except jwt.PyJWTError as error:
            raise ProblemRaised("key-missing", f"The token is not good: {error}.", headers=ASK_FOR_KEY) from error
        return claims

    def _signing_key(self, token: str) -> Any:
        if time.monotonic() < self._down_until:
            raise no_provider()
        try:
            return self._keys.get_signing_key_from_jwt(token)
        except self._jwt.PyJWKClientConnectionError as error:
            self._down_until = time.monotonic() + PROVIDER_REST_SECONDS
            raise no_provider() from error


def caller_of(claims: Mapping[str, Any], settings: Settings) -> Caller:
    """Whom claims name: the tenant by `oidc_tenant_claim`, else whoever it is alone; scopes by `oidc_scope_claim`."""
    subject, tenant = str(claims["sub"]), claims.get(settings.oidc_tenant_claim)
    own = tenant if isinstance(tenant, str) and tenant else f"sub:{subject}"  # no key's tenant has a colon
    roles = tuple(_words(claims.get("roles"))) if isinstance(claims.get("roles"), list) else ()
    scopes = _scopes(claims.get(settings.oidc_scope_claim), settings)
    return Caller(
        name_of(own),
        name_of(f"sub:{subject}"),
        frozenset(scopes) & ALL_SCOPES,
        "token",
        person=subject[:200],
        roles=roles,
    )


def _scopes(claim: object, settings: Settings) -> Iterable[str]:
    """By the map of the settings, where there is one; else scopes by their own names, as OAuth writes them (RFC 8693, 4.2)."""
    if known := scope_map_in(settings.oidc_scope_map):
        return [scope for word in _words(claim) for scope in known.get(word, ())]
    return claim.split() if isinstance(claim, str) else ()


def _words(claim: object) -> Iterable[str]:
    """`crew office`, or a list of such words, as providers list the groups of somebody."""
    if isinstance(claim, str):
        return claim.split()
    return [word for word in claim if isinstance(word, str)] if isinstance(claim, list) else ()


def no_provider() -> ProblemRaised:
    """The problem of a provider that does not answer."""
    return ProblemRaised("identity-unavailable", retry_after=PROVIDER_REST_SECONDS)


def name_of(text: str) -> str:
    """As the store can hold it; never two that are one after shortening."""
    return text if len(text) <= 64 and text.isprintable() else hashlib.sha256(text.encode()).hexdigest()
