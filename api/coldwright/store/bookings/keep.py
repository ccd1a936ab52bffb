"""Keeping an order: a new revision, its state and its stock, all or nothing."""

from datetime import UTC, datetime
from typing import Any

from msgspec.structs import replace
from sqlalchemy import Connection, delete, insert, select, update

from coldwright.store.bookings.booking import ENDED, HOLDING, Booking, Head, NotPossible, Period, State, Wanted
from coldwright.store.bookings.checks import want_checks
from coldwright.store.bookings.finding import length_class
from coldwright.store.bookings.names import keep_names
from coldwright.store.bookings.stock import assign, give_back, give_up_what_is_out, serials_of, take
from coldwright.store.conditions import Condition, Done, judge, tag_of
from coldwright.store.database import Database
from coldwright.store.events import add_event
from coldwright.store.locking import hold
from coldwright.store.records import insert_record
from coldwright.store.schema import booking_heads, booking_labels, bookings

NOT_POSSIBLE = 3
"""How bad a plan is that cannot be carried out: the worst."""
ACCEPTED = "The plan that stands was accepted though it cannot be carried out."


def judge_booking(
    database: Database, tenant: str, reference: str, document: bytes, condition: Condition
) -> tuple[Head | None, Done]:
    """What keeping this order would come to, before it is assessed. Raises `Changed`, `Unconditional`, `NotPossible`."""
    with database.reading() as connection:
        head = head_of(connection, tenant, reference)
        newest = revision_of(connection, tenant, reference, head.revision) if head else None
        return head, _judged(head, newest, document, condition)


def _judged(
    head: Head | None, newest: Booking | None, document: bytes, condition: Condition, wanted: Wanted | None = None
) -> Done:
    """The same order again changes nothing, unless what was proposed stands now, or it is assessed otherwise now and did not
    stand or is re-checked.
    """
    same = newest is not None and newest.document == document
    done = judge(condition, head.etag if head else None, same=same)
    if done == "unchanged" and newest is not None and wanted is not None:
        otherwise = wanted.assessment.digest != newest.digest
        stands_now = wanted.stands and not newest.standing
        done = "changed" if stands_now or (otherwise and (wanted.again or not newest.standing)) else done
    if done == "changed" and head is not None and head.stored_state in ENDED:
        raise NotPossible(f"The booking is {head.stored_state}: it is not changed any more. Book anew.")
    return done


def put_booking(
    database: Database, tenant: str, reference: str, wanted: Wanted, condition: Condition, caller: str = ""
) -> tuple[Head, Done]:
    """Keep a revision and take its stock; whoever waits for stock is looked at again where some was given back.

    A plan that does not stand is kept as a proposal: what its booking holds stays held. Raises `Changed`,
    `Unconditional`, `NotPossible`, `StockTaken` when what it takes is no longer free, or `OtherAnswerKept`.
    """
    with database.writing() as connection:
        hold(connection, tenant, f"booking:{reference}")
        before = head_of(connection, tenant, reference)
        newest = revision_of(connection, tenant, reference, before.revision) if before else None
        done = _judged(before, newest, wanted.document, condition, wanted)
        if done == "unchanged" and before is not None:
            return before, done
        head = next_head(before, reference, wanted, datetime.now(UTC))
        if wanted.stands:
            _hold(connection, tenant, head, wanted)
            if before is not None:
                want_checks(connection, tenant, before.fleet, but=reference)
        insert_record(connection, tenant, wanted.assessment)
        _insert_revision(connection, tenant, as_revision(head, wanted))
        _write_head(connection, tenant, head, wanted.rests_on if wanted.stands or not before else None)
        if wanted.stands or before is None or not before.standing:  # those of a proposal come with its standing
            _write_labels(connection, tenant, reference, wanted)
        kind = "booking.created" if before is None else "booking.changed" if wanted.stands else "booking.proposed"
        add_event(connection, tenant, kind, reference, facts_of(head) | ({"caller": caller} if caller else {}))
        return head, done


def next_head(before: Head | None, reference: str, wanted: Wanted, now: datetime) -> Head:
    """What keeping it makes of the booking as a whole; raises `NotPossible`."""
    state = _next_state(before, wanted, now)
    revision = before.revision + 1 if before else 1
    changes = before.changes + 1 if before else 1
    etag = tag_of(reference, changes, wanted.document)
    if before is not None and not wanted.stands and before.standing:
        return replace(before, revision=revision, changes=changes, etag=etag, updated_at=now)
    unfit = wanted.stands and wanted.assessment.outcome == "unacceptable"
    return Head(
        reference=reference,
        stored_state=state,
        wished=_wish(before, wanted),
        held_until=_held_until(before, wanted, state),
        revision=revision,
        standing=revision if wanted.stands else 0,
        changes=changes,
        etag=etag,
        outcome=wanted.assessment.outcome,
        period=wanted.period,
        site=wanted.site,
        customer=wanted.customer,
        fleet=wanted.fleet,
        fleet_version=wanted.fleet_version,
        severity=NOT_POSSIBLE if unfit else 0,
        why=ACCEPTED if unfit else "",
        created_at=before.created_at if before else now,
        updated_at=now,
        latitude=wanted.position[0] if wanted.position else None,
        longitude=wanted.position[1] if wanted.position else None,
    )


def _held_until(before: Head | None, wanted: Wanted, state: State) -> datetime | None:
    """An edit that says nothing of it leaves the hold to lapse when it would have."""
    if state != "held":
        return None
    return wanted.held_until or (before.held_until if before else None)


def _wish(before: Head | None, wanted: Wanted) -> State:
    return wanted.wished or (before.wished if before else "held")


def _next_state(before: Head | None, wanted: Wanted, now: datetime) -> State:
    """`held` unless a quote is asked for; what is confirmed or on hire stays so; what cannot stand holds nothing.

    Where an unacceptable plan is to stand all the same, nothing is held any more: it is a quote. What is on hire is out.
    """
    present = before.state_at(now) if before else "quote"
    if before is not None and present == "on_hire" and wanted.stands and before.fleet not in ("", wanted.fleet):
        raise NotPossible(
            "It is on hire: what is out is of the fleet that it was booked from. Return it and book anew."
        )
    if not wanted.stands:
        return present
    if wanted.assessment.outcome == "unacceptable":
        return "quote" if present in ("held", "confirmed") else present
    wish = _wish(before, wanted)
    if wish == "quote" and wanted.wished and present in HOLDING:
        raise NotPossible(
            f"The booking is {present}; it does not go back to a quote. Cancel it to give the stock back."
        )
    return "held" if present == "quote" and wish == "held" else present


def _hold(connection: Connection, tenant: str, head: Head, wanted: Wanted) -> None:
    if head.stored_state not in HOLDING:
        give_back(connection, tenant, head.reference)
        return
    take(connection, tenant, head, wanted.taking, head.stored_state)
    if head.stored_state != "held":
        assign(connection, tenant, head)


def assign_anew(connection: Connection, tenant: str, head: Head) -> None:
    """Give a booking other machines where those that it was to have will not do any more, and report it."""
    before = serials_of(connection, tenant, head.reference)
    if head.stored_state == "on_hire":
        give_up_what_is_out(connection, tenant, head)
    assign(connection, tenant, head)
    now = serials_of(connection, tenant, head.reference)
    if now != before:
        machines = [{"type": kind, "serial": serial} for kind, serial in now]
        add_event(connection, tenant, "booking.machines", head.reference, facts_of(head) | {"machines": machines})


def facts_of(head: Head) -> dict[str, Any]:
    """What an event says of a booking; thin, so that it goes to an address without its order."""
    return {
        "reference": head.reference,
        "state": head.state_at(head.updated_at),
        "revision": head.revision,
        "standing_revision": head.standing,
        "outcome": head.outcome,
    }


def as_revision(head: Head, wanted: Wanted) -> Booking:
    """The revision that keeping it makes."""
    return Booking(
        reference=head.reference,
        revision=head.revision,
        document=wanted.document,
        etag=tag_of(head.reference, head.revision, wanted.document),
        digest=wanted.assessment.digest,
        outcome=wanted.assessment.outcome,
        period=wanted.period,
        site=wanted.site,
        fleet=wanted.fleet,
        fleet_version=wanted.fleet_version,
        sent=wanted.sent,
        standing=wanted.stands,
        created_at=head.updated_at,
    )


def _insert_revision(connection: Connection, tenant: str, kept: Booking) -> None:
    connection.execute(
        insert(bookings).values(
            tenant=tenant,
            reference=kept.reference,
            revision=kept.revision,
            document=kept.document,
            etag=kept.etag,
            digest=kept.digest,
            outcome=kept.outcome,
            period_from=kept.period.first,
            period_to=kept.period.last,
            site=kept.site,
            fleet=kept.fleet,
            fleet_version=kept.fleet_version,
            sent=kept.sent,
            standing=int(kept.standing),
            created_at=kept.created_at,
        )
    )


def _write_labels(connection: Connection, tenant: str, reference: str, wanted: Wanted) -> None:
    c = booking_labels.c
    connection.execute(delete(booking_labels).where(c.tenant == tenant, c.reference == reference))
    rows = [{"tenant": tenant, "reference": reference, "name": n, "value": v} for n, v in wanted.labels.items()]
    if rows:
        connection.execute(insert(booking_labels), rows)


def _write_head(connection: Connection, tenant: str, head: Head, rests_on: str | None) -> None:
    values = row_of(head)
    if rests_on is not None:
        values |= {"calculator_version": rests_on, "check_wanted": None}
    here = (booking_heads.c.tenant == tenant, booking_heads.c.reference == head.reference)
    keep_names(connection, tenant, values["site_folded"], values["customer_folded"])
    if not connection.execute(update(booking_heads).where(*here).values(**values)).rowcount:
        connection.execute(insert(booking_heads).values(tenant=tenant, **values))


def row_of(head: Head) -> dict[str, Any]:
    """The columns of a head."""
    return {
        "reference": head.reference,
        "state": head.stored_state,
        "wished": head.wished,
        "held_until": head.held_until,
        "revision": head.revision,
        "standing": head.standing,
        "changes": head.changes,
        "etag": head.etag,
        "outcome": head.outcome,
        "period_from": head.period.first,
        "period_to": head.period.last,
        "site": head.site,
        "customer": head.customer,
        "fleet": head.fleet,
        "fleet_version": head.fleet_version,
        "severity": head.severity,
        "why": head.why,
        "created_at": head.created_at,
        "updated_at": head.updated_at,
        "site_folded": head.site.casefold(),
        "customer_folded": head.customer.casefold(),
        "length_class": length_class(head.period),
        "latitude": head.latitude,
        "longitude": head.longitude,
    }


def present(database: Database, tenant: str, reference: str) -> Head | None:
    """The booking as a whole."""
    with database.reading() as connection:
        return head_of(connection, tenant, reference)


def get_booking(database: Database, tenant: str, reference: str, revision: int) -> Booking | None:
    """A revision of an order."""
    with database.reading() as connection:
        return revision_of(connection, tenant, reference, revision)


def head_of(connection: Connection, tenant: str, reference: str) -> Head | None:
    """The same inside a transaction."""
    query = select(booking_heads).where(booking_heads.c.tenant == tenant, booking_heads.c.reference == reference)
    row = connection.execute(query).first()
    return None if row is None else as_head(row)


def as_head(row: Any) -> Head:
    """A row of the table of heads."""
    return Head(
        reference=row.reference,
        stored_state=row.state,
        wished=row.wished,
        held_until=row.held_until,
        revision=row.revision,
        standing=row.standing,
        changes=row.changes,
        etag=row.etag,
        outcome=row.outcome,
        period=Period(row.period_from, row.period_to),
        site=row.site,
        customer=row.customer,
        fleet=row.fleet,
        fleet_version=row.fleet_version,
        severity=row.severity,
        why=row.why,
        created_at=row.created_at,
        updated_at=row.updated_at,
        latitude=row.latitude,
        longitude=row.longitude,
    )


def revision_of(connection: Connection, tenant: str, reference: str, revision: int) -> Booking | None:
    """A revision inside a transaction."""
    c = bookings.c
    row = connection.execute(
        select(bookings).where(c.tenant == tenant, c.reference == reference, c.revision == revision)
    ).first()
    return None if row is None else as_booking(row)


def as_booking(row: Any) -> Booking:
    """A row of the table of revisions."""
    return Booking(
        row.reference,
        row.revision,
        row.document,
        row.etag,
        row.digest,
        row.outcome,
        Period(row.period_from, row.period_to),
        row.site,
        row.fleet,
        row.fleet_version,
        row.sent,
        bool(row.standing),
        row.created_at,
    )
