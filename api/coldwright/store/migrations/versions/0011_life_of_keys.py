"""Until when a key holds, and when it was used last."""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"


def upgrade() -> None:
    """Keys that exist hold until they are revoked; when they were used is not known."""
    with op.batch_alter_table("api_keys") as table:
        table.add_column(sa.Column("expires_at", sa.DateTime(timezone=True), nullable=True))
        table.add_column(sa.Column("last_used_at", sa.DateTime(timezone=True), nullable=True))


def downgrade() -> None:
    """Keys hold until they are revoked again, those that had an end too."""
    with op.batch_alter_table("api_keys") as table:
        table.drop_column("last_used_at")
        table.drop_column("expires_at")
