"""A job says what is kept of its answers, and an item how much worse it is than before."""

import sqlalchemy as sa
from alembic import op

revision = "0021"
down_revision = "0020"


def upgrade() -> None:
    """Jobs that are there keep whole answers."""
    with op.batch_alter_table("jobs") as table:
        table.add_column(sa.Column("keep", sa.LargeBinary(), nullable=False, server_default='"answers"'))
    with op.batch_alter_table("job_items") as table:
        table.add_column(sa.Column("before", sa.String(length=64), nullable=False, server_default=""))
        table.add_column(sa.Column("severity", sa.Integer(), nullable=False, server_default="0"))
    with op.batch_alter_table("jobs") as table:
        table.alter_column("keep", server_default=None)
    with op.batch_alter_table("job_items") as table:
        table.alter_column("before", server_default=None)
        table.alter_column("severity", server_default=None)
    op.create_index("ix_job_items_worst", "job_items", ["tenant", "job", "severity", "number"], unique=False)


def downgrade() -> None:
    """Take it back: what was kept in short has no answer any more."""
    op.drop_index("ix_job_items_worst", table_name="job_items")
    with op.batch_alter_table("job_items") as table:
        table.drop_column("severity")
        table.drop_column("before")
    with op.batch_alter_table("jobs") as table:
        table.drop_column("keep")
