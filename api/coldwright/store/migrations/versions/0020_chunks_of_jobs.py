"""Jobs are worked off in chunks that are rows; counts are kept; what failed is kept as facts, no longer as a reply."""

import json
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0020"
down_revision = "0012"

INSTANT = sa.DateTime(timezone=True)
SIZE = 20


def upgrade() -> None:
    """Make chunks for what is not done, and count what is."""
    op.create_table(
        "job_chunks",
        sa.Column("tenant", sa.String(length=64), nullable=False),
        sa.Column("job", sa.String(length=64), nullable=False),
        sa.Column("first", sa.Integer(), nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("needs", sa.String(length=200), nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("made_at", INSTANT, nullable=False),
        sa.Column("not_before", INSTANT, nullable=False),
        sa.PrimaryKeyConstraint("tenant", "job", "first", name=op.f("pk_job_chunks")),
    )
    op.create_index("ix_job_chunks_turn", "job_chunks", ["tenant", "made_at", "job", "first"], unique=False)
    with op.batch_alter_table("job_items") as table:
        table.add_column(sa.Column("attempts", sa.Integer(), nullable=False, server_default="0"))
    with op.batch_alter_table("jobs") as table:
        table.add_column(sa.Column("needs", sa.String(length=200), nullable=False, server_default=""))
        table.add_column(sa.Column("answered", sa.Integer(), nullable=False, server_default="0"))
        table.add_column(sa.Column("failed", sa.Integer(), nullable=False, server_default="0"))
    _count()
    _cut()
    _keep_facts()
    op.drop_index("ix_job_items_status", table_name="job_items")
    op.drop_index("ix_jobs_state", table_name="jobs")
    with op.batch_alter_table("job_items") as table:
        table.alter_column("attempts", server_default=None)
    with op.batch_alter_table("jobs") as table:
        for name in ("needs", "answered", "failed"):
            table.alter_column(name, server_default=None)
        table.alter_column("state", type_=sa.String(length=30), existing_type=sa.String(length=20))
        table.drop_column("owner")
        table.alter_column("beat_at", new_column_name="moved_at")
    op.create_index("ix_jobs_created", "jobs", ["tenant", "created_at", "id"], unique=False)
    op.create_index("ix_jobs_finished", "jobs", ["finished_at"], unique=False)


def _count() -> None:
    items = "(SELECT COUNT(*) FROM job_items i WHERE i.tenant = jobs.tenant AND i.job = jobs.id AND i.status {})"
    op.execute(f"UPDATE jobs SET answered = {items.format('= 200')}, failed = {items.format('>= 400')}")  # noqa: S608
    op.execute("UPDATE jobs SET needs = calculator || ' '")  # any version: it was not noted
    op.execute(
        "UPDATE jobs SET state = CASE WHEN answered > 0 THEN 'succeeded_with_failures' ELSE 'failed' END "
        "WHERE state = 'succeeded' AND failed > 0"
    )


def _cut() -> None:
    connection = op.get_bind()
    made: list[dict[str, Any]] = []
    unfinished = sa.text("SELECT tenant, id, needs, total, created_at FROM jobs WHERE state IN ('queued', 'running')")
    for row in connection.execute(unfinished):
        same = {"tenant": row.tenant, "job": row.id, "needs": row.needs, "made_at": row.created_at}
        made += [same | {"first": f, "size": min(SIZE, row.total - f)} for f in range(0, row.total, SIZE)]
    if made:
        insert = (
            "INSERT INTO job_chunks (tenant, job, first, size, needs, attempts, made_at, not_before) "
            "VALUES (:tenant, :job, :first, :size, :needs, 0, :made_at, :made_at)"
        )
        connection.execute(sa.text(insert), made)


def _keep_facts() -> None:
    """A reply of problem details becomes what it was made from."""
    connection = op.get_bind()
    failed = sa.text("SELECT tenant, job, number, body FROM job_items WHERE status >= 400")
    rows = connection.execute(failed).all()
    change = sa.text("UPDATE job_items SET body = :body WHERE tenant = :tenant AND job = :job AND number = :number")
    for row in rows:
        told = json.loads(row.body)
        facts = {
            "slug": told["type"].rpartition("/")[2],
            "detail": told.get("detail", ""),
            "errors": told.get("errors", []),
        }
        body = json.dumps(facts).encode()
        connection.execute(change, {"body": body, "tenant": row.tenant, "job": row.job, "number": row.number})


def downgrade() -> None:
    """Take it back: jobs that are not done begin to be worked on again; attempts are lost."""
    op.drop_index("ix_jobs_finished", table_name="jobs")
    op.drop_index("ix_jobs_created", table_name="jobs")
    op.execute("UPDATE jobs SET state = 'succeeded' WHERE state IN ('succeeded_with_failures', 'failed')")
    with op.batch_alter_table("jobs") as table:
        table.add_column(sa.Column("owner", sa.String(length=64), nullable=False, server_default=""))
        table.alter_column("moved_at", new_column_name="beat_at")
        table.drop_column("needs")
        table.drop_column("answered")
        table.drop_column("failed")
        table.alter_column("state", type_=sa.String(length=20), existing_type=sa.String(length=30))
    with op.batch_alter_table("jobs") as table:
        table.alter_column("owner", server_default=None)
    with op.batch_alter_table("job_items") as table:
        table.drop_column("attempts")
    op.create_index("ix_jobs_state", "jobs", ["state", "beat_at"], unique=False)
    op.create_index("ix_job_items_status", "job_items", ["tenant", "job", "status", "number"], unique=False)
    op.drop_table("job_chunks")
