"""Members' own printer profiles."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "profiles",
        sa.Column("owner", sa.String(30), primary_key=True),
        sa.Column("id", sa.String(64), primary_key=True),
        sa.Column("circle", sa.String(100)),
        sa.Column("toml", sa.Text, nullable=False),
        sa.Column("json", sa.Text, nullable=False),
        sa.Column("mark", sa.String(64), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("changed_at", sa.DateTime(timezone=True), nullable=False),
    )
    op.create_index("profiles_of_circle", "profiles", ["circle", "id"], unique=True)


def downgrade() -> None:
    op.drop_table("profiles")
