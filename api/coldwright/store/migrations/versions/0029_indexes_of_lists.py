"""Indexes by which lists find the bookings of a machine, of a type, and by part of the name of a site or a customer."""

from alembic import op

revision = "0029"
down_revision = "0028"


def upgrade() -> None:
    """Four indexes; those of names hold all that a search for a part of one reads."""
    op.create_index("ix_allocations_item", "allocations", ["tenant", "item"])
    op.create_index("ix_assignments_of_serial", "assignments", ["tenant", "serial"])
    op.create_index("ix_booking_heads_site", "booking_heads", ["tenant", "site_folded", "reference"])
    op.create_index("ix_booking_heads_customer", "booking_heads", ["tenant", "customer_folded", "reference"])


def downgrade() -> None:
    """Without them."""
    op.drop_index("ix_booking_heads_customer", "booking_heads")
    op.drop_index("ix_booking_heads_site", "booking_heads")
    op.drop_index("ix_assignments_of_serial", "assignments")
    op.drop_index("ix_allocations_item", "allocations")
