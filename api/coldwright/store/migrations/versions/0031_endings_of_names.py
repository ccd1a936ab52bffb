"""Lists that take as long in a hundred thousand bookings: endings of names, lengths of hires, an index for each filter."""

from datetime import date

import sqlalchemy as sa
from alembic import op

revision = "0031"
down_revision = "0030"

AT_ONCE = 500
LONGEST = 40


def by_code(length: int) -> sa.String:
    """Text in the order of its code points."""
    return sa.String(length).with_variant(sa.String(length, collation="C"), "postgresql")


INDEXES = {
    "ix_booking_heads_fleet_period": ["tenant", "fleet", "period_from", "reference"],
    "ix_booking_heads_state": ["tenant", "state", "period_from", "reference"],
    "ix_booking_heads_outcome": ["tenant", "outcome", "period_from", "reference"],
    "ix_booking_heads_length": ["tenant", "length_class", "period_from", "reference", "period_to"],
}
LENGTHS = (30, 120, 480)


def upgrade() -> None:
    """A column and a table, filled a few rows at a time; then the indexes."""
    op.add_column("booking_heads", sa.Column("length_class", sa.Integer, nullable=False, server_default="3"))
    _lengths(op.get_bind())
    _endings(op.get_bind())
    op.drop_index("ix_booking_heads_fleet", "booking_heads")
    for name, columns in INDEXES.items():
        op.create_index(name, "booking_heads", columns)
    where = sa.text("standing <> revision")
    op.create_index(
        "ix_booking_heads_proposed",
        "booking_heads",
        ["tenant", "period_from", "reference"],
        sqlite_where=where,
        postgresql_where=where,
    )


def _lengths(connection: sa.Connection) -> None:
    columns = ("tenant", "reference", "period_from", "period_to", "length_class")
    heads = sa.table("booking_heads", *map(sa.column, columns))
    key = sa.tuple_(heads.c.tenant, heads.c.reference)
    some = sa.select(heads).order_by(heads.c.tenant, heads.c.reference).limit(AT_ONCE)
    change = (
        sa.update(heads)
        .where(heads.c.tenant == sa.bindparam("of_tenant"), heads.c.reference == sa.bindparam("of_reference"))
        .values(length_class=sa.bindparam("new_class"))
    )
    rows = connection.execute(some).all()
    while rows:
        connection.execute(
            change,
            [{"of_tenant": row.tenant, "of_reference": row.reference, "new_class": _class(row)} for row in rows],
        )
        last = rows[-1]
        rows = connection.execute(some.where(key > sa.tuple_(last.tenant, last.reference))).all()


def _class(row: sa.Row[tuple[str, str, str, str, int]]) -> int:
    days = (date.fromisoformat(row.period_to) - date.fromisoformat(row.period_from)).days
    return next((number for number, most in enumerate(LENGTHS) if days <= most), len(LENGTHS))


def _endings(connection: sa.Connection) -> None:
    endings = op.create_table(
        "name_endings",
        sa.Column("tenant", sa.String(64), primary_key=True),
        sa.Column("ending", by_code(40), primary_key=True),
        sa.Column("name", sa.String(600), primary_key=True),
        sqlite_with_rowid=False,
    )
    heads = sa.table("booking_heads", *map(sa.column, ("tenant", "site_folded", "customer_folded")))
    sites = sa.select(heads.c.tenant, heads.c.site_folded.label("name"))
    names = sa.union(sites, sa.select(heads.c.tenant, heads.c.customer_folded)).subquery()
    key = sa.tuple_(names.c.tenant, names.c.name)
    some = sa.select(names).where(names.c.name != "").order_by(names.c.tenant, names.c.name).limit(AT_ONCE)
    rows = connection.execute(some).all()
    while rows:
        connection.execute(
            endings.insert(),
            [
                {"tenant": row.tenant, "ending": ending, "name": row.name}
                for row in rows
                for ending in sorted({row.name[start : start + LONGEST] for start in range(len(row.name))})
            ],
        )
        last = rows[-1]
        rows = connection.execute(some.where(key > sa.tuple_(last.tenant, last.name))).all()


def downgrade() -> None:
    """Without them."""
    for name in ("ix_booking_heads_proposed", *INDEXES):
        op.drop_index(name, "booking_heads")
    op.create_index("ix_booking_heads_fleet", "booking_heads", ["tenant", "fleet"])
    op.drop_table("name_endings")
    with op.batch_alter_table("booking_heads") as table:
        table.drop_column("length_class")
