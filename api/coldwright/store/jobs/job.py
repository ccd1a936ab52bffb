"""What the store knows of a job, of its items, and of a job to be made."""

from collections.abc import Sequence
from datetime import datetime
from typing import Literal, NamedTuple

from msgspec import Struct
from sqlalchemy import Row

JobState = Literal["queued", "running", "succeeded", "succeeded_with_failures", "failed", "cancelled"]
ENDED: tuple[JobState, ...] = ("succeeded", "succeeded_with_failures", "failed", "cancelled")


class Job(Struct, frozen=True):
    """A job, with how far it is."""

    id: str
    state: JobState
    calculator: str
    needs: str
    """What a process must serve to work on it: `family.name@major version`."""
    units: str
    keep: bytes
    """What of an answer is kept, as JSON: `"answers"`, `"changes"` or a list of pointers."""
    total: int
    answered: int
    failed: int
    created_at: datetime
    finished_at: datetime | None

    @property
    def done(self) -> int:
        """Items that will not be looked at again."""
        return self.answered + self.failed


class Item(Struct, frozen=True):
    """An item of a job; status 0 while it waits."""

    number: int
    name: str
    given: bytes
    status: int = 0
    outcome: str = ""
    body: bytes = b""
    before: str = ""
    """Digest of the answer that it is compared with."""
    severity: int = 0
    """How much worse it is than that; 0: the same."""
    attempts: int = 0
    """How often the process that worked on it died or was too slow."""


class Head(Struct, frozen=True):
    """A job to be made, whose items come later."""

    id: str
    calculator: str
    units: str
    needs: str
    keep: bytes


class NewItem(NamedTuple):
    """An item to be made: the caller's name for it, and its input."""

    name: str
    given: bytes
    before: str = ""


class New(Struct, frozen=True):
    """A job to be made."""

    id: str
    calculator: str
    units: str
    items: Sequence[NewItem | tuple[str, bytes]]
    idempotency_key: str | None
    fingerprint: str
    needs: str = ""
    keep: bytes = b'"answers"'
    sizes: Sequence[int] = ()
    """How many items each chunk has, in order; one chunk for all where nothing is said."""


class TooManyJobs(Exception):  # noqa: N818
    """The tenant has as many jobs under way as it may have."""


class KeyReused(Exception):  # noqa: N818
    """The idempotency key was used for another request."""


def as_job(row: "Row[tuple[object, ...]]") -> Job:
    """From a row of `jobs`."""
    r = row._mapping
    return Job(
        r["id"],
        r["state"],
        r["calculator"],
        r["needs"],
        r["units"],
        r["keep"],
        r["total"],
        r["answered"],
        r["failed"],
        r["created_at"],
        r["finished_at"],
    )


def as_item(row: "Row[tuple[object, ...]]") -> Item:
    """From a row of `job_items`."""
    r = row._mapping
    return Item(
        r["number"],
        r["name"],
        r["given"],
        r["status"],
        r["outcome"],
        r["body"],
        r["before"],
        r["severity"],
        r["attempts"],
    )
