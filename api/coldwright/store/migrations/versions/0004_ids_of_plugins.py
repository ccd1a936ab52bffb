"""Who registered an id of a calculator first; a row by which to see whether anything can be kept."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Ids that are served already are registered at the next start."""
    op.create_table(
        "plugin_ids",
        sa.Column("id", sa.String(length=101), nullable=False),
        sa.Column("distribution", sa.String(length=200), nullable=False),
        sa.Column("registered_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_plugin_ids"),
    )
    op.create_table(
        "probes",
        sa.Column("name", sa.String(length=20), nullable=False),
        sa.Column("filler", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_probes"),
    )


def downgrade() -> None:
    """Forget who was first."""
    op.drop_table("probes")
    op.drop_table("plugin_ids")
