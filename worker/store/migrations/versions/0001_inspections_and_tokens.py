"""The first tables: inspections and tokens."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def _moment(name: str, *, nullable: bool = True) -> sa.Column[object]:
    return sa.Column(name, sa.DateTime(timezone=True), nullable=nullable)


def upgrade() -> None:
    op.create_table(
        "inspections",
        sa.Column("id", sa.String(30), primary_key=True),
        sa.Column("owner", sa.String(30), nullable=False),
        sa.Column("state", sa.String(10), nullable=False),
        sa.Column("file_name", sa.Text, nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("bytes", sa.BigInteger, nullable=False),
        sa.Column("title", sa.Text),
        sa.Column("profile_id", sa.String(100), nullable=False),
        sa.Column("profile_json", sa.Text, nullable=False),
        sa.Column("judged_as_pages", sa.Integer),
        sa.Column("attempts", sa.Integer, nullable=False),
        _moment("lease_until"),
        _moment("rung_at"),
        sa.Column("progress_done", sa.Integer, nullable=False),
        sa.Column("progress_total", sa.Integer),
        sa.Column("verdict", sa.String(20)),
        sa.Column("failure", sa.JSON),
        _moment("created_at", nullable=False),
        _moment("measured_at"),
        _moment("finished_at"),
        _moment("expires_at", nullable=False),
        sa.Column("reader", sa.String(30)),
    )
    op.create_index("inspections_of_owner", "inspections", ["owner", "created_at", "id"])
    op.create_index("inspections_by_state", "inspections", ["state", "created_at"])
    op.create_index("inspections_by_content", "inspections", ["sha256", "reader"])
    op.create_index("inspections_by_expiry", "inspections", ["expires_at"])
    op.create_table(
        "tokens",
        sa.Column("id", sa.String(30), primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("hash", sa.String(64), nullable=False, unique=True),
        _moment("created_at", nullable=False),
        _moment("last_used_at"),
        _moment("revoked_at"),
    )


def downgrade() -> None:
    op.drop_table("tokens")
    op.drop_table("inspections")
