"""The desk: titles, their submissions, their authors' links, and what came in by deliveries."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def _id(name: str, *, primary_key: bool = False, nullable: bool = True) -> sa.Column[str]:
    return sa.Column(name, sa.String(30), primary_key=primary_key, nullable=nullable and not primary_key)


def _moment(name: str, *, nullable: bool = True) -> sa.Column[object]:
    return sa.Column(name, sa.DateTime(timezone=True), nullable=nullable)


def upgrade() -> None:
    op.create_table(
        "titles",
        _id("id", primary_key=True),
        _id("owner", nullable=False),
        sa.Column("author", sa.Text, nullable=False),
        sa.Column("author_sought", sa.Text, nullable=False),
        sa.Column("title", sa.Text, nullable=False),
        sa.Column("title_sought", sa.Text, nullable=False),
        sa.Column("isbn", sa.String(13)),
        sa.Column("profile_id", sa.String(100), nullable=False),
        sa.Column("trim", sa.Text),
        sa.Column("expected_pages", sa.Integer),
        sa.Column("note", sa.Text, nullable=False),
        sa.Column("standing", sa.String(20), nullable=False),
        sa.Column("submissions", sa.Integer, nullable=False),
        _moment("created_at", nullable=False),
        _moment("touched_at", nullable=False),
    )
    op.create_index("titles_of_owner", "titles", ["owner", "touched_at", "id"])
    op.create_index("titles_by_isbn", "titles", ["owner", "isbn"])
    op.create_table(
        "submissions",
        _id("id", primary_key=True),
        _id("title_id", nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        _id("inspection_id", nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("file_name", sa.Text, nullable=False),
        sa.Column("bytes", sa.BigInteger, nullable=False),
        _moment("received_at", nullable=False),
        sa.Column("received_by", sa.Text),
        _id("link_id"),
        sa.Column("verdict", sa.String(20)),
        sa.Column("pages", sa.Integer),
        _moment("passed_at"),
        sa.Column("passed_by", sa.Text),
        sa.UniqueConstraint("title_id", "number"),
    )
    op.create_index("submissions_by_inspection", "submissions", ["inspection_id"])
    op.create_index("submissions_by_link", "submissions", ["link_id", "received_at"])
    op.create_table(
        "author_links",
        _id("id", primary_key=True),
        _id("title_id", nullable=False),
        sa.Column("hash", sa.String(64), nullable=False, unique=True),
        _moment("created_at", nullable=False),
        _moment("expires_at", nullable=False),
        _moment("withdrawn_at"),
    )
    op.create_index("author_links_of_title", "author_links", ["title_id", "created_at"])
    op.create_table(
        "arrivals",
        _id("id", primary_key=True),
        _id("owner", nullable=False),
        _id("delivery", nullable=False),
        sa.Column("place", sa.Integer, nullable=False),
        sa.Column("file_name", sa.Text, nullable=False),
        _moment("received_at", nullable=False),
        sa.Column("refusal", sa.Text),
        _id("inspection_id"),
        _id("title_id"),
        sa.Column("number", sa.Integer),
        sa.Column("how", sa.Text),
        sa.UniqueConstraint("delivery", "place"),
    )
    op.create_index("arrivals_of_owner", "arrivals", ["owner", "received_at"])
    op.create_index("arrivals_by_inspection", "arrivals", ["inspection_id"])


def downgrade() -> None:
    for table in ("arrivals", "author_links", "submissions", "titles"):
        op.drop_table(table)
