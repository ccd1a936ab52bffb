"""Sessions of people for whom an identity provider vouches: what it said of them stands with the session."""

import sqlalchemy as sa
from alembic import op

revision = "0030"
down_revision = "0029"


def upgrade() -> None:
    """Those who are signed in with a key stay so."""
    op.add_column("sessions", sa.Column("holder", sa.Text(), nullable=False, server_default=""))


def downgrade() -> None:
    """People of a provider are signed out."""
    op.execute("DELETE FROM sessions WHERE holder <> ''")
    op.drop_column("sessions", "holder")
