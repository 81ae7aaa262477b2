"""Members, to whom tokens and inspections belong; tokens have scopes and may end by themselves.

Until here each token was an owner of its own: it becomes a member's, of the same name, with every scope.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

EVERY_SCOPE = "manage read submit"


def upgrade() -> None:
    members = op.create_table(
        "members",
        sa.Column("id", sa.String(30), primary_key=True),
        sa.Column("name", sa.Text, nullable=False, unique=True),
        sa.Column("circle", sa.Text, nullable=False),
        sa.Column("operator", sa.Boolean, nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True)),
    )
    op.add_column("tokens", sa.Column("member", sa.String(30), nullable=False, server_default=""))
    op.add_column("tokens", sa.Column("scopes", sa.Text, nullable=False, server_default=EVERY_SCOPE))
    op.add_column("tokens", sa.Column("expires_at", sa.DateTime(timezone=True)))
    tokens = sa.table(
        "tokens",
        *(sa.column(name) for name in ("id", "name", "member")),
        *(sa.column(name, sa.DateTime(timezone=True)) for name in ("created_at", "revoked_at")),
    )
    inspections = sa.table("inspections", sa.column("owner"))
    _give_each_token_a_member(members, tokens, inspections)
    op.create_index("tokens_of_member", "tokens", ["member"])


def downgrade() -> None:
    tokens, inspections = (
        sa.table("tokens", sa.column("id"), sa.column("member")),
        sa.table("inspections", sa.column("owner")),
    )
    database = op.get_bind()
    for token_id, member_id in database.execute(sa.select(tokens.c.id, tokens.c.member)).all():
        database.execute(inspections.update().where(inspections.c.owner == member_id).values(owner=token_id))
    op.drop_index("tokens_of_member", "tokens")
    for column in ("expires_at", "scopes", "member"):
        op.drop_column("tokens", column)
    op.drop_table("members")


def _give_each_token_a_member(members: sa.Table, tokens: sa.TableClause, inspections: sa.TableClause) -> None:
    database = op.get_bind()
    taken: set[str] = set()
    in_force_first = (tokens.c.revoked_at.is_not(None), tokens.c.created_at, tokens.c.id)
    for token in database.execute(sa.select(tokens).order_by(*in_force_first)).all():
        member_id = "mem_" + token.id.removeprefix("tok_")
        name = token.name if token.name not in taken else f"{token.name} ({token.id})"
        taken.add(name)
        database.execute(
            members.insert().values(
                id=member_id,
                name=name,
                circle="house",
                operator=False,
                created_at=token.created_at,
                ended_at=token.revoked_at,
            )
        )
        database.execute(tokens.update().where(tokens.c.id == token.id).values(member=member_id))
        database.execute(inspections.update().where(inspections.c.owner == token.id).values(owner=member_id))
