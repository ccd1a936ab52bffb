"""A key names who uses it, and what that person is qualified for."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Keys that exist are nobody's own."""
    with op.batch_alter_table("api_keys") as table:
        table.add_column(sa.Column("person", sa.String(length=200), nullable=False, server_default=""))
        table.add_column(sa.Column("roles", sa.String(length=400), nullable=False, server_default=""))


def downgrade() -> None:
    """Forget who uses a key."""
    with op.batch_alter_table("api_keys") as table:
        table.drop_column("roles")
        table.drop_column("person")
