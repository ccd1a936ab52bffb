"""The first schema."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make every table."""
    op.create_table(
        "allocations",
        sa.Column("tenant", sa.String(length=64), nullable=False),
        sa.Column("reference", sa.String(length=100), nullable=False),
        sa.Column("fleet", sa.String(length=100), nullable=False),
        sa.Column("item", sa.String(length=200), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("period_from", sa.String(length=40), nullable=False),
        sa.Column("period_to", sa.String(length=40), nullable=False),
        sa.PrimaryKeyConstraint("tenant", "reference", "fleet", "item", name=op.f("pk_allocations")),
    )
    op.create_index("ix_allocations_fleet", "allocations", ["tenant", "fleet", "item"], unique=False)
    op.create_table(
        "api_keys",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("tenant", sa.String(length=64), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("hash", sa.LargeBinary(length=32), nullable=False),
        sa.Column("scopes", sa.String(length=200), nullable=False),
        sa.Column("units", sa.String(length=10), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("revoked_at", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_api_keys")),
        sa.UniqueConstraint("hash", name=op.f("uq_api_keys_hash")),
    )
    op.create_index(op.f("ix_api_keys_tenant"), "api_keys", ["tenant"], unique=False)
    op.create_table(
        "bookings",
        sa.Column("tenant", sa.String(length=64), nullable=False),
        sa.Column("reference", sa.String(length=100), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("document", sa.LargeBinary(), nullable=False),
        sa.Column("etag", sa.String(length=64), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("outcome", sa.String(length=20), nullable=False),
        sa.Column("period_from", sa.String(length=40), nullable=False),
        sa.Column("period_to", sa.String(length=40), nullable=False),
        sa.Column("site", sa.String(length=200), nullable=False),
        sa.Column("fleet", sa.String(length=100), nullable=False),
        sa.Column("current", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("tenant", "reference", "revision", name=op.f("pk_bookings")),
    )
    op.create_index("ix_bookings_listing", "bookings", ["tenant", "current", "period_from", "reference"], unique=False)
    op.create_table(
        "fleets",
        sa.Column("tenant", sa.String(length=64), nullable=False),
        sa.Column("id", sa.String(length=100), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("document", sa.LargeBinary(), nullable=False),
        sa.Column("etag", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("tenant", "id", "version", name=op.f("pk_fleets")),
    )
    op.create_table(
        "job_items",
        sa.Column("tenant", sa.String(length=64), nullable=False),
        sa.Column("job", sa.String(length=64), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("given", sa.LargeBinary(), nullable=False),
        sa.Column("status", sa.Integer(), nullable=False),
        sa.Column("outcome", sa.String(length=20), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("tenant", "job", "number", name=op.f("pk_job_items")),
    )
    op.create_index("ix_job_items_status", "job_items", ["tenant", "job", "status", "number"], unique=False)
    op.create_table(
        "jobs",
        sa.Column("tenant", sa.String(length=64), nullable=False),
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("state", sa.String(length=20), nullable=False),
        sa.Column("calculator", sa.String(length=100), nullable=False),
        sa.Column("units", sa.String(length=10), nullable=False),
        sa.Column("total", sa.Integer(), nullable=False),
        sa.Column("idempotency_key", sa.String(length=200), nullable=True),
        sa.Column("fingerprint", sa.String(length=64), nullable=False),
        sa.Column("owner", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("beat_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("finished_at", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("tenant", "id", name=op.f("pk_jobs")),
    )
    op.create_index("ix_jobs_state", "jobs", ["state", "beat_at"], unique=False)
    op.create_index("uq_jobs_idempotency", "jobs", ["tenant", "idempotency_key"], unique=True)
    op.create_table(
        "locks",
        sa.Column("tenant", sa.String(length=64), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("remark", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("tenant", "name", name=op.f("pk_locks")),
    )
    op.create_table(
        "observations",
        sa.Column("tenant", sa.String(length=64), nullable=False),
        sa.Column("startup", sa.String(length=100), nullable=False),
        sa.Column("sequence", sa.BigInteger(), nullable=False),
        sa.Column("observation", sa.String(length=200), nullable=False),
        sa.Column("content", sa.String(length=64), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.Column("received_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("tenant", "startup", "sequence", name=op.f("pk_observations")),
    )
    op.create_index(
        "uq_observations_content", "observations", ["tenant", "startup", "observation", "content"], unique=True
    )
    op.create_table(
        "records",
        sa.Column("tenant", sa.String(length=64), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("calculator", sa.String(length=100), nullable=False),
        sa.Column("version", sa.String(length=40), nullable=False),
        sa.Column("outcome", sa.String(length=20), nullable=False),
        sa.Column("given", sa.LargeBinary(), nullable=False),
        sa.Column("answer", sa.LargeBinary(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("tenant", "digest", name=op.f("pk_records")),
    )
    op.create_table(
        "startups",
        sa.Column("tenant", sa.String(length=64), nullable=False),
        sa.Column("id", sa.String(length=100), nullable=False),
        sa.Column("document", sa.LargeBinary(), nullable=False),
        sa.Column("etag", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("changed_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("tenant", "id", name=op.f("pk_startups")),
    )
    op.create_table(
        "verdicts",
        sa.Column("tenant", sa.String(length=64), nullable=False),
        sa.Column("startup", sa.String(length=100), nullable=False),
        sa.Column("sequence", sa.BigInteger(), nullable=False),
        sa.Column("observation_count", sa.Integer(), nullable=False),
        sa.Column("status", sa.String(length=20), nullable=False),
        sa.Column("meaning", sa.String(length=64), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.Column("caller", sa.String(length=64), nullable=False),
        sa.Column("told_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("tenant", "startup", "sequence", name=op.f("pk_verdicts")),
    )


def downgrade() -> None:
    """Drop every table."""
    op.drop_table("verdicts")
    op.drop_table("startups")
    op.drop_table("records")
    op.drop_index("uq_observations_content", table_name="observations")
    op.drop_table("observations")
    op.drop_table("locks")
    op.drop_index("uq_jobs_idempotency", table_name="jobs")
    op.drop_index("ix_jobs_state", table_name="jobs")
    op.drop_table("jobs")
    op.drop_index("ix_job_items_status", table_name="job_items")
    op.drop_table("job_items")
    op.drop_table("fleets")
    op.drop_index("ix_bookings_listing", table_name="bookings")
    op.drop_table("bookings")
    op.drop_index(op.f("ix_api_keys_tenant"), table_name="api_keys")
    op.drop_table("api_keys")
    op.drop_index("ix_allocations_fleet", table_name="allocations")
    op.drop_table("allocations")
