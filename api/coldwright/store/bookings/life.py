"""The life of a booking: quote, held, confirmed, on hire, returned; or cancelled."""

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace
from sqlalchemy import Connection, func, insert, select, update

from coldwright.store.bookings.booking import ENDED, Head, NotPossible, State, Taking
from coldwright.store.bookings.checks import want_checks
from coldwright.store.bookings.keep import assign_anew, facts_of, head_of, row_of
from coldwright.store.bookings.stock import assign, give_back, keep, precedence_of, shorten, take, today
from coldwright.store.conditions import Changed, Condition, tag_of
from coldwright.store.database import Database
from coldwright.store.events import add_event
from coldwright.store.locking import hold
from coldwright.store.schema import booking_heads, booking_moves

Door = Literal["hold", "confirm", "deliver", "return", "cancel"]

FROM: dict[Door, tuple[State, ...]] = {
    "hold": ("quote", "held"),
    "confirm": ("held",),
    "deliver": ("confirmed",),
    "return": ("on_hire",),
    "cancel": ("quote", "held", "confirmed"),
}
TO: dict[Door, State] = {
    "hold": "held",
    "confirm": "confirmed",
    "deliver": "on_hire",
    "return": "returned",
    "cancel": "cancelled",
}
WHY_NOT: dict[State, str] = {
    "quote": "It is a quote, which holds nothing: hold it first.",
    "held": "It is held and not confirmed: confirm it first.",
    "confirmed": "It is confirmed already: it can be delivered or cancelled.",
    "on_hire": "It is on hire: it can only be returned.",
    "returned": "It is returned: its life is over. Book anew.",
    "cancelled": "It is cancelled: its life is over. Book anew.",
}


class Move(Struct, frozen=True):
    """One step of a booking's life."""

    number: int
    door: str
    state: str
    reason: str
    caller: str
    moved_at: datetime


class Step(Struct, frozen=True):
    """What is asked of a booking: which step, why, and what that takes."""

    door: Door
    reason: str = ""
    held_until: datetime | None = None
    taking: Taking = Taking()
    caller: str = ""


def move_booking(
    database: Database, tenant: str, reference: str, step: Step, condition: Condition
) -> tuple[Head, bool] | None:
    """Take a booking one step on; nothing where there is no booking, else its head and whether anything changed.

    Repeating the step that led to its state changes nothing. Raises `Changed`, `NotPossible`, `StockTaken`.
    """
    with database.writing() as connection:
        hold(connection, tenant, f"booking:{reference}")
        head = head_of(connection, tenant, reference)
        if head is None:
            return None
        now = datetime.now(UTC)
        state = head.state_at(now)
        again = state == TO[step.door] and (step.door != "hold" or step.held_until == head.held_until)
        if again:
            return head, False
        if condition.if_match and not condition.allows(head.etag):
            raise Changed
        if state not in FROM[step.door]:
            raise NotPossible(WHY_NOT[state])
        if step.door in ("hold", "confirm") and not head.standing:
            raise NotPossible("No revision of it stands: its plan is unacceptable. Change the order first.")
        if step.door in ("hold", "confirm") and head.outcome == "unacceptable":
            raise NotPossible("The plan that stands is unacceptable, so that it holds nothing. Change the order first.")
        moved = replace(
            head,
            stored_state=TO[step.door],
            held_until=step.held_until if step.door == "hold" else None,
            changes=head.changes + 1,
            etag=tag_of(reference, head.changes + 1, TO[step.door]),
            updated_at=now,
        )
        if moved.stored_state in ENDED:
            moved = replace(moved, severity=0, why="")  # nobody asks whether what is over still holds
        if head.fleet:  # each step moves stock or names machines, and another booking's step must not do so meanwhile
            hold(connection, tenant, f"stock:{head.fleet}")
        _CHANGES[step.door](connection, tenant, moved, step)
        here = (booking_heads.c.tenant == tenant, booking_heads.c.reference == reference)
        connection.execute(update(booking_heads).where(*here).values(**row_of(moved)))
        write_move(connection, tenant, moved, step.door, step.reason, step.caller)
        add_event(connection, tenant, "booking.state", reference, facts_of(moved) | _why(step))
        return moved, True


def _why(step: Step) -> dict[str, str]:
    return {n: v for n, v in (("reason", step.reason), ("caller", step.caller)) if v}


def _hold(connection: Connection, tenant: str, head: Head, step: Step) -> None:
    take(connection, tenant, head, step.taking, "held")


def _confirm(connection: Connection, tenant: str, head: Head, _step: Step) -> None:
    """What is held stays held, for good; what came of its fleet since then is a matter of checks."""
    precedence = precedence_of("confirmed", head.created_at, head.reference)
    keep(connection, tenant, head.reference, until=None, precedence=precedence)
    assign(connection, tenant, head)


def _deliver(connection: Connection, tenant: str, head: Head, _step: Step) -> None:
    """A fact: it is kept whatever the stock says. A machine that leaves early is gone from that day on."""
    precedence = precedence_of("on_hire", head.created_at, head.reference)
    first = min(head.period.first, today())
    keep(connection, tenant, head.reference, out=1, precedence=precedence, period_from=first)
    assign_anew(connection, tenant, head)
    want_checks(connection, tenant, head.fleet)


def _return(connection: Connection, tenant: str, head: Head, _step: Step) -> None:
    shorten(connection, tenant, head.reference, today())
    want_checks(connection, tenant, head.fleet)


def _cancel(connection: Connection, tenant: str, head: Head, _step: Step) -> None:
    give_back(connection, tenant, head.reference)
    want_checks(connection, tenant, head.fleet)


_CHANGES: dict[Door, Callable[[Connection, str, Head, Step], None]] = {
    "hold": _hold,
    "confirm": _confirm,
    "deliver": _deliver,
    "return": _return,
    "cancel": _cancel,
}


def write_move(connection: Connection, tenant: str, head: Head, door: str, reason: str, caller: str) -> None:
    """Add a step to a booking's history."""
    c = booking_moves.c
    last = connection.scalar(select(func.max(c.number)).where(c.tenant == tenant, c.reference == head.reference))
    connection.execute(
        insert(booking_moves).values(
            tenant=tenant,
            reference=head.reference,
            number=int(last or 0) + 1,
            door=door,
            state=head.stored_state,
            reason=reason,
            caller=caller,
            moved_at=head.updated_at,
        )
    )


def moves_of(database: Database, tenant: str, reference: str) -> list[Move]:
    """How a booking came to its state, the first step first."""
    c = booking_moves.c
    query = select(booking_moves).where(c.tenant == tenant, c.reference == reference).order_by(c.number)
    with database.reading() as connection:
        return [Move(r.number, r.door, r.state, r.reason, r.caller, r.moved_at) for r in connection.execute(query)]
