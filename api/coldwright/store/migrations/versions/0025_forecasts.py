"""Forecasts by day and place, schedules of checks, and where a booking is on the map."""

import sqlalchemy as sa
from alembic import op

revision = "0025"
down_revision = "0024"


def upgrade() -> None:
    """Three tables, and two columns of bookings: those of before have no place on the map."""
    op.create_table(
        "forecasts",
        sa.Column("tenant", sa.String(64), nullable=False),
        sa.Column("id", sa.String(100), nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("document", sa.LargeBinary, nullable=False),
        sa.Column("etag", sa.String(64), nullable=False),
        sa.Column("first_day", sa.String(10), nullable=False),
        sa.Column("last_day", sa.String(10), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("tenant", "id", name=op.f("pk_forecasts")),
    )
    op.create_table(
        "forecast_days",
        sa.Column("tenant", sa.String(64), nullable=False),
        sa.Column("forecast", sa.String(100), nullable=False),
        sa.Column("place", sa.Integer, nullable=False),
        sa.Column("day", sa.String(10), nullable=False),
        sa.Column("site", sa.String(200), nullable=False),
        sa.Column("latitude", sa.Float, nullable=True),
        sa.Column("longitude", sa.Float, nullable=True),
        sa.Column("reach", sa.Float, nullable=False),
        sa.Column("hottest", sa.Float, nullable=True),
        sa.Column("coldest", sa.Float, nullable=True),
        sa.Column("wind", sa.Float, nullable=True),
        sa.Column("gust", sa.Float, nullable=True),
        sa.PrimaryKeyConstraint("tenant", "forecast", "place", "day", name=op.f("pk_forecast_days")),
    )
    op.create_index("ix_forecast_days_site", "forecast_days", ["tenant", "site", "day"])
    op.create_table(
        "schedules",
        sa.Column("tenant", sa.String(64), nullable=False),
        sa.Column("id", sa.String(100), nullable=False),
        sa.Column("document", sa.LargeBinary, nullable=False),
        sa.Column("etag", sa.String(64), nullable=False),
        sa.Column("forecast", sa.String(100), nullable=False),
        sa.Column("next_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("last_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("last_count", sa.Integer, nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("tenant", "id", name=op.f("pk_schedules")),
    )
    op.create_index("ix_schedules_next_at", "schedules", ["next_at"])
    with op.batch_alter_table("booking_heads") as table:
        table.add_column(sa.Column("latitude", sa.Float, nullable=True))
        table.add_column(sa.Column("longitude", sa.Float, nullable=True))


def downgrade() -> None:
    """Without them."""
    with op.batch_alter_table("booking_heads") as table:
        table.drop_column("longitude")
        table.drop_column("latitude")
    for name in ("schedules", "forecast_days", "forecasts"):
        op.drop_table(name)
