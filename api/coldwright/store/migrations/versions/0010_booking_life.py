"""Bookings get a life: heads with a state, holds that lapse, machines by serial number, events."""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0004"

INSTANT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make the new tables, and a head for every booking that is there."""
    _new_tables()
    with op.batch_alter_table("bookings") as table:
        table.add_column(sa.Column("fleet_version", sa.Integer(), nullable=False, server_default="0"))
        table.add_column(sa.Column("sent", sa.LargeBinary(), nullable=False, server_default=""))
        table.add_column(sa.Column("standing", sa.Integer(), nullable=False, server_default="1"))
    with op.batch_alter_table("allocations") as table:
        table.add_column(sa.Column("blocked_to", sa.String(length=40), nullable=False, server_default=""))
        table.add_column(sa.Column("out", sa.Integer(), nullable=False, server_default="0"))
        table.add_column(sa.Column("precedence", sa.String(length=160), nullable=False, server_default=""))
        table.add_column(sa.Column("until", INSTANT, nullable=True))
    op.execute("UPDATE bookings SET sent = document")
    op.execute("UPDATE bookings SET standing = CASE WHEN outcome = 'unacceptable' THEN 0 ELSE 1 END")
    op.execute("UPDATE allocations SET blocked_to = period_to, precedence = '9 ' || reference")
    op.execute(
        "INSERT INTO booking_heads (tenant, reference, state, wished, revision, standing, changes, etag, outcome, "
        "period_from, period_to, site, customer, fleet, fleet_version, calculator_version, severity, why, "
        "created_at, updated_at, check_wanted) "
        "SELECT b.tenant, b.reference, CASE WHEN b.outcome = 'unacceptable' THEN 'quote' ELSE 'held' END, 'held', "
        "b.revision, CASE WHEN b.outcome = 'unacceptable' THEN 0 ELSE b.revision END, b.revision, b.etag, b.outcome, "
        "b.period_from, b.period_to, b.site, '', b.fleet, 0, '', 0, '', b.created_at, b.created_at, NULL "
        "FROM bookings b WHERE b.current = 1"
    )
    op.drop_index("ix_bookings_listing", table_name="bookings")
    with op.batch_alter_table("bookings") as table:
        table.drop_column("current")
        for name in ("fleet_version", "sent", "standing"):
            table.alter_column(name, server_default=None)
    with op.batch_alter_table("allocations") as table:
        for name in ("blocked_to", "out", "precedence"):
            table.alter_column(name, server_default=None)
    op.create_index("ix_allocations_period", "allocations", ["tenant", "fleet", "blocked_to"], unique=False)


def _new_tables() -> None:
    op.create_table(
        "booking_heads",
        sa.Column("tenant", sa.String(length=64), nullable=False),
        sa.Column("reference", sa.String(length=100), nullable=False),
        sa.Column("state", sa.String(length=20), nullable=False),
        sa.Column("wished", sa.String(length=20), nullable=False),
        sa.Column("held_until", INSTANT, nullable=True),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("standing", sa.Integer(), nullable=False),
        sa.Column("changes", sa.Integer(), nullable=False),
        sa.Column("etag", sa.String(length=64), nullable=False),
        sa.Column("outcome", sa.String(length=20), nullable=False),
        sa.Column("period_from", sa.String(length=40), nullable=False),
        sa.Column("period_to", sa.String(length=40), nullable=False),
        sa.Column("site", sa.String(length=200), nullable=False),
        sa.Column("customer", sa.String(length=200), nullable=False),
        sa.Column("fleet", sa.String(length=100), nullable=False),
        sa.Column("fleet_version", sa.Integer(), nullable=False),
        sa.Column("calculator_version", sa.String(length=40), nullable=False),
        sa.Column("severity", sa.Integer(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("created_at", INSTANT, nullable=False),
        sa.Column("updated_at", INSTANT, nullable=False),
        sa.Column("check_wanted", INSTANT, nullable=True),
        sa.PrimaryKeyConstraint("tenant", "reference", name=op.f("pk_booking_heads")),
    )
    for name, columns in (
        ("period", ["tenant", "period_from", "reference"]),
        ("updated", ["tenant", "updated_at", "reference"]),
        ("severity", ["tenant", "severity", "period_from", "reference"]),
        ("fleet", ["tenant", "fleet"]),
        ("check", ["check_wanted"]),
    ):
        op.create_index(f"ix_booking_heads_{name}", "booking_heads", columns, unique=False)
    op.create_table(
        "booking_moves",
        sa.Column("tenant", sa.String(length=64), nullable=False),
        sa.Column("reference", sa.String(length=100), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("door", sa.String(length=20), nullable=False),
        sa.Column("state", sa.String(length=20), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("caller", sa.String(length=200), nullable=False),
        sa.Column("moved_at", INSTANT, nullable=False),
        sa.PrimaryKeyConstraint("tenant", "reference", "number", name=op.f("pk_booking_moves")),
    )
    op.create_table(
        "booking_labels",
        sa.Column("tenant", sa.String(length=64), nullable=False),
        sa.Column("reference", sa.String(length=100), nullable=False),
        sa.Column("name", sa.String(length=100), nullable=False),
        sa.Column("value", sa.String(length=500), nullable=False),
        sa.PrimaryKeyConstraint("tenant", "reference", "name", name=op.f("pk_booking_labels")),
    )
    op.create_index("ix_booking_labels_value", "booking_labels", ["tenant", "name", "value"], unique=False)
    op.create_table(
        "fleet_machines",
        sa.Column("tenant", sa.String(length=64), nullable=False),
        sa.Column("fleet", sa.String(length=100), nullable=False),
        sa.Column("serial", sa.String(length=100), nullable=False),
        sa.Column("type", sa.String(length=100), nullable=False),
        sa.Column("state", sa.String(length=20), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("since", sa.String(length=10), nullable=False),
        sa.Column("until", sa.String(length=10), nullable=False),
        sa.Column("etag", sa.String(length=64), nullable=False),
        sa.Column("updated_at", INSTANT, nullable=False),
        sa.PrimaryKeyConstraint("tenant", "fleet", "serial", name=op.f("pk_fleet_machines")),
    )
    op.create_table(
        "assignments",
        sa.Column("tenant", sa.String(length=64), nullable=False),
        sa.Column("reference", sa.String(length=100), nullable=False),
        sa.Column("fleet", sa.String(length=100), nullable=False),
        sa.Column("serial", sa.String(length=100), nullable=False),
        sa.Column("type", sa.String(length=100), nullable=False),
        sa.Column("period_from", sa.String(length=40), nullable=False),
        sa.Column("blocked_to", sa.String(length=40), nullable=False),
        sa.PrimaryKeyConstraint("tenant", "reference", "fleet", "serial", name=op.f("pk_assignments")),
    )
    op.create_index("ix_assignments_serial", "assignments", ["tenant", "fleet", "serial"], unique=False)
    op.create_table(
        "events",
        sa.Column("tenant", sa.String(length=64), nullable=False),
        sa.Column("number", sa.BigInteger(), nullable=False),
        sa.Column("kind", sa.String(length=60), nullable=False),
        sa.Column("subject", sa.String(length=200), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.Column("happened_at", INSTANT, nullable=False),
        sa.PrimaryKeyConstraint("tenant", "number", name=op.f("pk_events")),
    )
    op.create_index("ix_events_subject", "events", ["tenant", "subject", "number"], unique=False)


def downgrade() -> None:
    """Take it back: states, serial numbers and events are lost, revisions stay."""
    op.drop_index("ix_allocations_period", table_name="allocations")
    with op.batch_alter_table("bookings") as table:
        table.add_column(sa.Column("current", sa.Integer(), nullable=False, server_default="0"))
    op.execute(
        "UPDATE bookings SET current = 1 WHERE revision = (SELECT h.revision FROM booking_heads h "
        "WHERE h.tenant = bookings.tenant AND h.reference = bookings.reference)"
    )
    with op.batch_alter_table("bookings") as table:
        table.alter_column("current", server_default=None)
        for name in ("fleet_version", "sent", "standing"):
            table.drop_column(name)
    op.create_index("ix_bookings_listing", "bookings", ["tenant", "current", "period_from", "reference"], unique=False)
    with op.batch_alter_table("allocations") as table:
        for name in ("blocked_to", "out", "precedence", "until"):
            table.drop_column(name)
    for name in (
        "events", "assignments", "fleet_machines", "booking_labels", "booking_moves", "booking_heads",
    ):  # fmt: skip
        op.drop_table(name)
