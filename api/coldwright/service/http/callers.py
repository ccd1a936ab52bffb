"""Who asks: the tenant and the scopes behind a key, a token, or the loopback address."""

from typing import Literal

from msgspec import Struct

from coldwright.contract.answer import Units
from coldwright.service.settings import SCOPES

ALL_SCOPES = SCOPES
Means = Literal["local", "key", "token", "none"]


class Caller(Struct, frozen=True):
    """The one behind a request."""

    tenant: str
    id: str
    scopes: frozenset[str]
    means: Means
    units: Units = "metric"
    person: str = ""
    """Who sends, as the credential says; empty where it is nobody's own."""
    roles: tuple[str, ...] = ()
    """What that person is qualified for, as the credential says, the usual one first."""


NOBODY = Caller("", "", frozenset(), "none")
LOCAL = Caller("local", "local", ALL_SCOPES, "local")
"""With no keys the service listens on loopback only, and whoever is on the machine is the one tenant."""
