"""Requests of keys and tenants are counted by the minute where quotas are set."""

import sqlalchemy as sa
from alembic import op

revision = "0024"
down_revision = "0023"


def upgrade() -> None:
    """A table of counts; on PostgreSQL one that is not logged, for nothing is lost with it."""
    op.create_table(
        "rate_windows",
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("count", sa.BigInteger, nullable=False),
        sa.Column("ends_at", sa.Float, nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_rate_windows")),
    )
    if op.get_bind().dialect.name == "postgresql":
        op.execute("ALTER TABLE rate_windows SET UNLOGGED")


def downgrade() -> None:
    """Without it."""
    op.drop_table("rate_windows")
