"""The earlier inspection that one is compared with."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("inspections", sa.Column("against", sa.String(30)))


def downgrade() -> None:
    op.drop_column("inspections", "against")
