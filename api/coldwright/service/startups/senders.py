"""Who recorded an observation, and in what role: as the credential says, not as the record claims."""

from collections.abc import Iterable
from typing import Any

from msgspec import UNSET, Struct

from coldwright.service.http.callers import Caller

LONGEST_NAME = 200
NOT_PROVED = " (not proved)"
"""Behind a name that a key without a person gives, where that person has a key: it is not taken for the same person."""
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
    proved_elsewhere: frozenset[str]
    """Persons, folded, who have keys of their own: without one nobody speaks as one of them."""

    def of(self, observation: Any) -> dict[str, Any]:
        """`by` and `role` of an observation as they count: unset is nobody."""
        return {
            "by": self.person or self._claimed(observation.by),
            "role": self._role(observation.role),
        }

    def _claimed(self, by: Any) -> Any:
        if by is UNSET or _folded(by) not in self.proved_elsewhere:
            return by
        return f"{by[: LONGEST_NAME - len(NOT_PROVED)]}{NOT_PROVED}"

    def _role(self, claimed: Any) -> Any:
        if self.roles:
            return claimed if claimed in self.roles else self.roles[0]
        return UNSET if claimed == SUPERVISOR and not self.may_supervise else claimed


def _folded(name: str) -> str:
    return " ".join(name.casefold().split())


def sender_of(caller: Caller, roles: frozenset[str], persons: Iterable[str]) -> Sender:
    """The sender behind a request; of the roles of its credential those that the calculator knows.

    `persons` are those who have keys of their own.
    """
    known = tuple(r for r in caller.roles if not roles or r in roles)
    return Sender(caller.person, known, bool(caller.scopes & MAY_SUPERVISE), frozenset(map(_folded, persons)))
