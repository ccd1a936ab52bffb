"""Kept questions and answers are compressed."""

import zlib
from collections.abc import Callable

import sqlalchemy as sa
from alembic import op

revision = "0023"
down_revision = "0022"

AT_ONCE = 100
LEVEL = 3
records = sa.table(
    "records",
    sa.column("tenant", sa.String),
    sa.column("digest", sa.String),
    sa.column("given", sa.LargeBinary),
    sa.column("answer", sa.LargeBinary),
)


def upgrade() -> None:
    """Compress each."""
    _each(lambda text: zlib.compress(text, LEVEL))


def downgrade() -> None:
    """As they were."""
    _each(zlib.decompress)


def _each(turned: Callable[[bytes], bytes]) -> None:
    """Rewrite both columns, a few rows at a time, in the order of the key."""
    connection = op.get_bind()
    key = sa.tuple_(records.c.tenant, records.c.digest)
    some = sa.select(records).order_by(records.c.tenant, records.c.digest).limit(AT_ONCE)
    change = (
        sa.update(records)
        .where(records.c.tenant == sa.bindparam("of_tenant"), records.c.digest == sa.bindparam("of_digest"))
        .values(given=sa.bindparam("new_given"), answer=sa.bindparam("new_answer"))
    )
    rows = connection.execute(some).all()
    while rows:
        changed = [
            {"of_tenant": r.tenant, "of_digest": r.digest, "new_given": turned(r.given), "new_answer": turned(r.answer)}
            for r in rows
        ]
        connection.execute(change, changed)
        rows = connection.execute(some.where(key > sa.tuple_(rows[-1].tenant, rows[-1].digest))).all()
