"""Tables of jobs. A change here needs a migration, as one in `schema` does."""

from sqlalchemy import Column, Index, Integer, LargeBinary, String, Table

from coldwright.store.columns import instant, metadata

jobs = Table(
    "jobs",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("id", String(64), primary_key=True),
    Column("state", String(30), nullable=False),
    Column("calculator", String(100), nullable=False),
    Column("needs", String(200), nullable=False),
    Column("units", String(10), nullable=False),
    Column("keep", LargeBinary, nullable=False),
    Column("total", Integer, nullable=False),
    Column("answered", Integer, nullable=False),
    Column("failed", Integer, nullable=False),
    Column("idempotency_key", String(200), nullable=True),
    Column("fingerprint", String(64), nullable=False),
    instant("created_at"),
    instant("moved_at"),
    instant("finished_at", nullable=True),
    Index("uq_jobs_idempotency", "tenant", "idempotency_key", unique=True),
    Index("ix_jobs_created", "tenant", "created_at", "id"),
    Index("ix_jobs_finished", "finished_at"),
)
"""`needs` is what a process must serve to work on it: the calculator, its major version, and the version it began
with. `moved_at` is when something of it was last done."""

job_items = Table(
    "job_items",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("job", String(64), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("name", String(200), nullable=False),
    Column("given", LargeBinary, nullable=False),
    Column("before", String(64), nullable=False),
    Column("status", Integer, nullable=False),
    Column("outcome", String(20), nullable=False),
    Column("body", LargeBinary, nullable=False),
    Column("severity", Integer, nullable=False),
    Column("attempts", Integer, nullable=False),
    Index("ix_job_items_worst", "tenant", "job", "severity", "number"),
)
"""An item with status 0 waits; the others are done, with the status that they would have had alone. `before` is the digest
of the answer that it is compared with, where it is; the greater `severity`, the worse it is than that."""

job_chunks = Table(
    "job_chunks",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("job", String(64), primary_key=True),
    Column("first", Integer, primary_key=True),
    Column("size", Integer, nullable=False),
    Column("needs", String(200), nullable=False),
    Column("attempts", Integer, nullable=False),
    instant("made_at"),
    instant("not_before"),
    Index("ix_job_chunks_turn", "tenant", "made_at", "job", "first"),
)
"""Items of a job that are still to be done, from `first` on. `made_at` is when the job was made: the oldest go first."""
