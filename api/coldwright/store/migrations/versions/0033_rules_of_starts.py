"""What was concluded of a start says by which rules: what other rules concluded is concluded anew."""

import sqlalchemy as sa
from alembic import op

revision = "0033"
down_revision = "0032"


def upgrade() -> None:
    """Nothing is known of what was concluded before."""
    with op.batch_alter_table("startups") as table:
        table.add_column(sa.Column("rests_on", sa.String(40), nullable=False, server_default=""))
    with op.batch_alter_table("verdicts") as table:
        table.add_column(sa.Column("calculator", sa.String(200), nullable=False, server_default=""))


def downgrade() -> None:
    """As it was."""
    with op.batch_alter_table("verdicts") as table:
        table.drop_column("calculator")
    with op.batch_alter_table("startups") as table:
        table.drop_column("rests_on")
