"""Starts of one source or loop tell each other what speaks against them."""

import sqlalchemy as sa
from alembic import op

revision = "0027"
down_revision = "0026"


def upgrade() -> None:
    """No start names its source or loop yet."""
    op.create_table(
        "shared_starts",
        sa.Column("tenant", sa.String(64), primary_key=True),
        sa.Column("startup", sa.String(100), primary_key=True),
        sa.Column("name", sa.String(300), primary_key=True),
        sa.Column("bodies", sa.LargeBinary(), nullable=False),
    )
    op.create_index("ix_shared_starts_name", "shared_starts", ["tenant", "name"], unique=False)


def downgrade() -> None:
    """Take it away."""
    op.drop_index("ix_shared_starts_name", table_name="shared_starts")
    op.drop_table("shared_starts")
