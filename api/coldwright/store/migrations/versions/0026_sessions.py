"""Sessions of people who signed in with a key."""

import sqlalchemy as sa
from alembic import op

revision = "0026"
down_revision = "0025"


def upgrade() -> None:
    """Nobody is signed in yet."""
    op.create_table(
        "sessions",
        sa.Column("hash", sa.LargeBinary(32), nullable=False),
        sa.Column("key_id", sa.String(32), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("expires_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("hash", name=op.f("pk_sessions")),
    )


def downgrade() -> None:
    """Everybody is signed out."""
    op.drop_table("sessions")
