"""A start keeps what its newest verdict stopped, so that it is told once; starts are found that are to be judged again."""

import sqlalchemy as sa
from alembic import op

revision = "0022"
down_revision = "0021"


def upgrade() -> None:
    """Nothing is known of what was stopped before."""
    with op.batch_alter_table("startups") as table:
        table.add_column(sa.Column("stops", sa.Text(), nullable=False, server_default=""))
    op.create_index("ix_startups_state_of", "startups", ["state_of"], unique=False)
    op.create_index("ix_startups_state_until", "startups", ["state_until"], unique=False)


def downgrade() -> None:
    """Take it away."""
    op.drop_index("ix_startups_state_until", table_name="startups")
    op.drop_index("ix_startups_state_of", table_name="startups")
    with op.batch_alter_table("startups") as table:
        table.drop_column("stops")
