"""Share links, the files that an owner sends a day, and days of their own for files and for pictures.

What was kept before keeps its file and its pictures for as long as its report.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

MOMENTS = ("file_expires_at", "pictures_expire_at", "file_deleted_at", "pictures_deleted_at")
INDEXES = {
    "inspections_by_file_expiry": ["file_expires_at"],
    "inspections_by_pictures_expiry": ["pictures_expire_at"],
    "inspections_of_account": ["owner", "state", "file_deleted_at", "bytes"],
}


def upgrade() -> None:
    op.create_table(
        "shares",
        sa.Column("id", sa.String(30), primary_key=True),
        sa.Column("inspection", sa.String(30), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False, unique=True),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("expires_at", sa.DateTime(timezone=True), nullable=False),
    )
    op.create_index("shares_of_inspection", "shares", ["inspection"])
    op.create_index("shares_by_expiry", "shares", ["expires_at"])
    op.create_table(
        "intakes",
        sa.Column("owner", sa.String(30), primary_key=True),
        sa.Column("day", sa.Date, primary_key=True),
        sa.Column("files", sa.Integer, nullable=False),
    )
    for name in MOMENTS:
        op.add_column("inspections", sa.Column(name, sa.DateTime(timezone=True)))
    op.execute("UPDATE inspections SET file_expires_at = expires_at, pictures_expire_at = expires_at")
    for index, columns in INDEXES.items():
        op.create_index(index, "inspections", columns)


def downgrade() -> None:
    for index in INDEXES:
        op.drop_index(index, "inspections")
    for name in reversed(MOMENTS):
        op.drop_column("inspections", name)
    op.drop_table("intakes")
    op.drop_table("shares")
