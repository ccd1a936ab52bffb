"""What the store knows of a booking: its revisions, its state, and what keeping one comes with."""

from collections.abc import Mapping
from datetime import datetime
from typing import Literal

from msgspec import Struct

from coldwright.store.records import Record

State = Literal["quote", "held", "confirmed", "on_hire", "returned", "cancelled"]
STATES: tuple[State, ...] = ("quote", "held", "confirmed", "on_hire", "returned", "cancelled")
ENDED: tuple[State, ...] = ("returned", "cancelled")
"""States that nothing leads out of."""
HOLDING: tuple[State, ...] = ("held", "confirmed", "on_hire")
"""States that take stock, the weakest first."""


class Period(Struct, frozen=True):
    """First and last day, both included, as ISO dates: they sort as they are."""

    first: str
    last: str


class Booking(Struct, frozen=True):
    """One revision of an order."""

    reference: str
    revision: int
    document: bytes
    etag: str
    digest: str
    outcome: str
    period: Period
    site: str
    fleet: str
    fleet_version: int
    sent: bytes
    standing: bool
    created_at: datetime


class Head(Struct, frozen=True):
    """A booking as a whole: its state, and which of its revisions stands."""

    reference: str
    stored_state: State
    wished: State
    """What its caller asked for: a quote stays a quote when it is edited."""
    held_until: datetime | None
    revision: int
    """The newest; later than `standing` where an edit was only proposed."""
    standing: int
    """The revision that holds; 0 where none does yet."""
    changes: int
    etag: str
    outcome: str
    period: Period
    site: str
    customer: str
    fleet: str
    fleet_version: int
    severity: int
    """0: its plan holds; more is worse."""
    why: str
    created_at: datetime
    updated_at: datetime
    latitude: float | None = None
    longitude: float | None = None
    """Degrees north and east, where the order says so."""

    def state_at(self, now: datetime) -> State:
        """The state, a hold that lapsed being a quote again."""
        lapsed = self.stored_state == "held" and self.held_until is not None and self.held_until <= now
        return "quote" if lapsed else self.stored_state

    @property
    def shown(self) -> int:
        """The revision to show: the one that stands, else the newest."""
        return self.standing or self.revision


class Taking(Struct, frozen=True):
    """Stock that a plan takes from a fleet."""

    held: Mapping[str, int] = {}
    """Machine types and accessories, with how many."""
    stock: Mapping[str, int] = {}
    """What the fleet has of each in all. An item that is not among them is not counted."""
    turnaround: Mapping[str, int] = {}
    """Days that each is kept back after its hire, to be cleaned and checked; 0 where it is not among them."""


class Wanted(Struct, frozen=True):
    """A revision to be kept: the order as it came, and what was assessed of it."""

    document: bytes
    assessment: Record
    period: Period
    site: str
    fleet: str
    taking: Taking
    stands: bool = True
    """Whether it becomes what holds; otherwise it is kept beside that, as a proposal."""
    fleet_version: int = 0
    sent: bytes = b"{}"
    customer: str = ""
    labels: Mapping[str, str] = {}
    wished: State | None = None
    held_until: datetime | None = None
    position: tuple[float, float] | None = None
    """Degrees north and east, where the order says so."""
    rests_on: str = ""
    """What stands for the versions and tables that the assessment rests on."""
    again: bool = False
    """Whether the same order is a new revision where it is assessed otherwise than before (a re-check)."""


class StockTaken(Exception):  # noqa: N818
    """Another order took what this one was assessed with: assess it again."""


class NotPossible(Exception):  # noqa: N818
    """The booking's state does not allow it; the text says why, and what would."""
