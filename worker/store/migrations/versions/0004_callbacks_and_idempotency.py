"""Callbacks and the tries at them, and the keys by which a repeated upload is known."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "deliveries",
        sa.Column("id", sa.String(30), primary_key=True),
        sa.Column("inspection_id", sa.String(30), nullable=False),
        sa.Column("owner", sa.String(30), nullable=False),
        sa.Column("signer", sa.String(30), nullable=False),
        sa.Column("key_mark", sa.String(16), nullable=False),
        sa.Column("url", sa.Text, nullable=False),
        sa.Column("state", sa.String(10), nullable=False),
        sa.Column("body", sa.Text),
        sa.Column("attempts", sa.Integer, nullable=False),
        sa.Column("series_from", sa.Integer, nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("next_at", sa.DateTime(timezone=True)),
        sa.Column("lease_until", sa.DateTime(timezone=True)),
        sa.Column("last_at", sa.DateTime(timezone=True)),
        sa.Column("last_status", sa.Integer),
        sa.Column("last_problem", sa.Text),
        sa.Column("delivered_at", sa.DateTime(timezone=True)),
    )
    op.create_index("deliveries_of_inspection", "deliveries", ["inspection_id"], unique=True)
    op.create_index("deliveries_due", "deliveries", ["state", "next_at"])
    op.create_table(
        "idempotency_keys",
        sa.Column("owner", sa.String(30), primary_key=True),
        sa.Column("key", sa.Text, primary_key=True),
        sa.Column("fingerprint", sa.String(64), nullable=False),
        sa.Column("inspection_id", sa.String(30), nullable=False),
        sa.Column("expires_at", sa.DateTime(timezone=True), nullable=False),
    )
    op.create_index("idempotency_keys_by_expiry", "idempotency_keys", ["expires_at"])


def downgrade() -> None:
    op.drop_table("idempotency_keys")
    op.drop_table("deliveries")
