"""What a writer says of the state that it read, and what comes of it."""

import hashlib
from typing import Literal

from msgspec import Struct


class Condition(Struct, frozen=True):
    """`If-Match` and `If-None-Match: *` of a request; both absent: no word about the present state."""

    if_match: tuple[str, ...] = ()
    only_new: bool = False

    def allows(self, present: str | None) -> bool:
        """Whether the state with this tag (none: nothing is there) may be changed."""
        if self.only_new:
            return present is None
        return not self.if_match or ("*" in self.if_match and present is not None) or present in self.if_match


class Changed(Exception):  # noqa: N818
    """The state is not the one that the writer read."""


class Unconditional(Exception):  # noqa: N818
    """There is a state already, and the writer did not say which one it read."""


Done = Literal["created", "changed", "unchanged"]


def tag_of(*parts: bytes | str | int) -> str:
    """A strong tag of a state."""
    sha = hashlib.sha256()
    for part in parts:
        sha.update(part if isinstance(part, bytes) else str(part).encode())
        sha.update(b"\0")
    return sha.hexdigest()[:32]


def judge(condition: Condition, present_tag: str | None, *, same: bool) -> Done:
    """What a write comes to. Repeating the present state changes nothing, whatever the condition says of it."""
    if present_tag is not None and same and not condition.only_new:
        return "unchanged"
    if not condition.allows(present_tag):
        raise Changed
    if present_tag is None:
        return "created"
    if not condition.if_match:
        raise Unconditional
    return "changed"
