"""Bookings that are over stand no longer among those whose plan does not hold."""

import sqlalchemy as sa
from alembic import op

revision = "0032"
down_revision = "0031"


def upgrade() -> None:
    """Clear what was found of them."""
    heads = sa.table("booking_heads", *map(sa.column, ("state", "severity", "why")))
    ended = heads.c.state.in_(("returned", "cancelled"))
    op.execute(sa.update(heads).where(ended, heads.c.severity > 0).values(severity=0, why=""))


def downgrade() -> None:
    """It cannot be known what was found."""
