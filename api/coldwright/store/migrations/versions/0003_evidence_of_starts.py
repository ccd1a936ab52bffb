"""Who recorded an observation and when it was sent; every configuration that a start had; what the list asks for."""

import hashlib
import json

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"

TEXTS = {
    "startups": {"booking": 200, "machine": 200, "state": 20},
    "observations": {"caller": 64},
    "verdicts": {"configuration": 64},
}


def upgrade() -> None:
    """What was kept before has no sender; it was received when it was received."""
    for name, texts in TEXTS.items():
        with op.batch_alter_table(name) as table:
            for column, length in texts.items():
                table.add_column(sa.Column(column, sa.String(length=length), nullable=False, server_default=""))
    with op.batch_alter_table("startups") as table:
        table.add_column(sa.Column("state_of", sa.BigInteger(), nullable=False, server_default="-1"))
        table.add_column(sa.Column("carries", sa.LargeBinary(), nullable=False, server_default=sa.text("''")))
        table.add_column(sa.Column("state_until", sa.DateTime(timezone=True), nullable=True))
    with op.batch_alter_table("observations") as table:
        table.add_column(sa.Column("counted", sa.LargeBinary(), nullable=False, server_default=sa.text("''")))
        table.add_column(sa.Column("sent_at", sa.DateTime(timezone=True), nullable=True))
    op.create_index("ix_startups_machine", "startups", ["tenant", "machine"], unique=False)
    op.create_index("ix_startups_booking", "startups", ["tenant", "booking"], unique=False)
    made = op.create_table(
        "configurations",
        sa.Column("tenant", sa.String(length=64), nullable=False),
        sa.Column("startup", sa.String(length=100), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("document", sa.LargeBinary(), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("loosened", sa.LargeBinary(), nullable=False),
        sa.Column("person", sa.String(length=200), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("caller", sa.String(length=64), nullable=False),
        sa.Column("changed_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("tenant", "startup", "version", name=op.f("pk_configurations")),
    )
    _fill(made)


def _fill(configurations: sa.Table) -> None:
    connection = op.get_bind()
    startups = sa.table(
        "startups",
        *(sa.column(n) for n in ("tenant", "id", "document", "booking", "machine")),
        sa.column("created_at", sa.DateTime(timezone=True)),
    )
    op.execute("UPDATE observations SET counted = body")
    for row in connection.execute(sa.select(startups)).fetchall():
        document = json.loads(row.document)
        configuration = json.dumps(document.get("configuration", {}), separators=(",", ":")).encode()
        connection.execute(
            sa.update(startups)
            .where(startups.c.tenant == row.tenant, startups.c.id == row.id)
            .values(
                booking=str(document.get("booking", ""))[:200],
                machine=" ".join(str(document.get("machine", "")).casefold().split())[:200],
            )
        )
        connection.execute(
            sa.insert(configurations).values(
                tenant=row.tenant,
                startup=row.id,
                version=1,
                document=configuration,
                digest=hashlib.sha256(configuration).hexdigest(),
                loosened=b"[]",
                person="",
                reason="",
                caller="",
                changed_at=row.created_at,
            )
        )


def downgrade() -> None:
    """Forget all of it."""
    op.drop_table("configurations")
    op.drop_index("ix_startups_machine", table_name="startups")
    op.drop_index("ix_startups_booking", table_name="startups")
    for name, columns in (
        ("startups", ("booking", "machine", "state", "state_of", "state_until", "carries")),
        ("observations", ("caller", "counted", "sent_at")),
        ("verdicts", ("configuration",)),
    ):
        with op.batch_alter_table(name) as table:
            for column in columns:
                table.drop_column(column)
