"""Addresses that events are sent to, and what is on its way to them."""

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "webhooks",
        sa.Column("tenant", sa.String(length=64), nullable=False),
        sa.Column("id", sa.String(length=100), nullable=False),
        sa.Column("url", sa.Text(), nullable=False),
        sa.Column("kinds", sa.Text(), nullable=False),
        sa.Column("state", sa.String(length=20), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("secrets", sa.LargeBinary(), nullable=False),
        sa.Column("queued_to", sa.BigInteger(), nullable=False),
        sa.Column("etag", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("tenant", "id", name=op.f("pk_webhooks")),
    )
    op.create_table(
        "deliveries",
        sa.Column("tenant", sa.String(length=64), nullable=False),
        sa.Column("webhook", sa.String(length=100), nullable=False),
        sa.Column("number", sa.BigInteger(), nullable=False),
        sa.Column("state", sa.String(length=20), nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("said", sa.Text(), nullable=False),
        sa.Column("next_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("happened_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("tenant", "webhook", "number", name=op.f("pk_deliveries")),
    )
    op.create_index("ix_deliveries_due", "deliveries", ["state", "next_at"], unique=False)


def downgrade() -> None:
    """Take them away: addresses and what is on its way are lost, events stay."""
    op.drop_table("deliveries")
    op.drop_table("webhooks")
