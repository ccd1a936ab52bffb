"""Who recorded an observation, and in what role: as the credential says, not as the record claims."""

from typing import Any

from msgspec import UNSET, Struct

from coldwright.service.http.callers import Caller

STAMPED = ("received_at", "sent_at")
"""Fields of an observation that are the service's to write."""
SUPERVISOR = "supervisor"
"""The role that may take back what others recorded."""
MAY_SUPERVISE = frozenset({"book", "admin"})
"""Scopes of the keys which may claim that role where the key itself names none."""


class Sender(Struct, frozen=True):
    """Who sends, as far as the credential says it; the record fills in what it leaves open."""

    person: str
    roles: tuple[str, ...]
    may_supervise: bool

    def of(self, observation: Any) -> dict[str, Any]:
        """`by` and `role` of an observation as they count: unset is nobody."""
        return {
            "by": self.person or observation.by,
            "role": self._role(observation.role),
        }

    def _role(self, claimed: Any) -> Any:
        if self.roles:
            return claimed if claimed in self.roles else self.roles[0]
        return UNSET if claimed == SUPERVISOR and not self.may_supervise else claimed


def sender_of(caller: Caller, roles: frozenset[str]) -> Sender:
    """The sender behind a request; of the roles of its credential those that the calculator knows."""
    known = tuple(r for r in caller.roles if not roles or r in roles)
    return Sender(caller.person, known, bool(caller.scopes & MAY_SUPERVISE))
