"""Members: the people and houses that share a service, each with its own inspections, profiles and tokens."""

from __future__ import annotations

from sqlalchemy import ColumnElement, or_, select, update

from worker.store.database import Database
from worker.store.errors import NameTaken
from worker.store.models import HOUSE, LOCAL, Member, Token, new_id, now


class Members:
    """All members. Methods are whole transactions and may be called from any thread."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def make(self, name: str, *, circle: str = HOUSE, operator: bool = False) -> Member:
        """A new member; its ``circle`` is whom it shares profiles with. Raises :class:`NameTaken`."""
        member = Member(id=new_id("mem_"), name=name, circle=circle, operator=operator, created_at=now())
        with self._database.write() as session:
            if session.scalar(select(Member).where(Member.name == name)) is not None:
                raise NameTaken(f"there is, or was, a member named {name!r}; choose another name")
            session.add(member)
        return member

    def all(self) -> list[Member]:
        """Every member there ever was, oldest first."""
        with self._database.read() as session:
            return list(session.scalars(select(Member).order_by(Member.created_at, Member.id)))

    def named(self, name_or_id: str) -> Member | None:
        """The member of this name or id; None where there is none, or where its membership has ended."""
        with self._database.read() as session:
            return session.scalar(select(Member).where(_called(name_or_id), _present()))

    def circle_of(self, owner: str) -> str:
        """The circle that an owner belongs to; whoever uses a service without tokens is of the house."""
        if owner == LOCAL:
            return HOUSE
        with self._database.read() as session:
            return session.scalar(select(Member.circle).where(Member.id == owner)) or HOUSE

    def end(self, name_or_id: str) -> bool:
        """End a membership and every token of it, at once; False where there is no such member.

        What it has uploaded stays until its days are over, or until it is deleted.
        """
        with self._database.write() as session:
            member = session.scalar(select(Member).where(_called(name_or_id), _present()))
            if member is None:
                return False
            member.ended_at = now()
            unrevoked = (Token.member == member.id, Token.revoked_at.is_(None))
            session.execute(update(Token).where(*unrevoked).values(revoked_at=member.ended_at))
            return True


def _called(name_or_id: str) -> ColumnElement[bool]:
    return or_(Member.name == name_or_id, Member.id == name_or_id)


def _present() -> ColumnElement[bool]:
    return Member.ended_at.is_(None)
