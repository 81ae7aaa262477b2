"""The request that brought an inspection, so that a worker's log names it however the inspection comes to it."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("inspections", sa.Column("request_id", sa.String(64)))


def downgrade() -> None:
    op.drop_column("inspections", "request_id")
