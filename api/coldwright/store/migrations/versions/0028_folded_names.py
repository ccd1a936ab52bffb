"""Names of sites and customers as they are searched: folded, so that letters of every language match in any case."""

import sqlalchemy as sa
from alembic import op

revision = "0028"
down_revision = "0027"

AT_ONCE = 500
heads = sa.table(
    "booking_heads",
    sa.column("tenant", sa.String),
    sa.column("reference", sa.String),
    sa.column("site", sa.String),
    sa.column("customer", sa.String),
    sa.column("site_folded", sa.String),
    sa.column("customer_folded", sa.String),
)


def upgrade() -> None:
    """Two columns, filled a few rows at a time in the order of the key."""
    with op.batch_alter_table("booking_heads") as table:
        table.add_column(sa.Column("site_folded", sa.Text, nullable=False, server_default=""))
        table.add_column(sa.Column("customer_folded", sa.Text, nullable=False, server_default=""))
    connection = op.get_bind()
    key = sa.tuple_(heads.c.tenant, heads.c.reference)
    some = sa.select(heads).order_by(heads.c.tenant, heads.c.reference).limit(AT_ONCE)
    change = (
        sa.update(heads)
        .where(heads.c.tenant == sa.bindparam("of_tenant"), heads.c.reference == sa.bindparam("of_reference"))
        .values(site_folded=sa.bindparam("new_site"), customer_folded=sa.bindparam("new_customer"))
    )
    rows = connection.execute(some).all()
    while rows:
        folded = [
            {
                "of_tenant": r.tenant,
                "of_reference": r.reference,
                "new_site": r.site.casefold(),
                "new_customer": r.customer.casefold(),
            }
            for r in rows
        ]
        connection.execute(change, folded)
        last = rows[-1]
        rows = connection.execute(some.where(key > sa.tuple_(last.tenant, last.reference))).all()


def downgrade() -> None:
    """Without them."""
    with op.batch_alter_table("booking_heads") as table:
        table.drop_column("customer_folded")
        table.drop_column("site_folded")
