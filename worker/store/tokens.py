"""Access tokens: named, shown once, kept as a hash, limited to scopes, revocable; each acts in the name of a member."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from collections.abc import Iterable
from datetime import timedelta
from typing import NamedTuple

from sqlalchemy import ColumnElement, Select, and_, or_, select
from sqlalchemy.orm import Session

from worker.store.database import Database
from worker.store.errors import Ambiguous, NameTaken
from worker.store.models import HOUSE, SCOPES, Member, Scope, Token, new_id, now

PREFIX = "pw_"
LAST_USE_NOTED_EVERY = timedelta(minutes=1)


class Bearer(NamedTuple):
    """A token that is in force, and the member in whose name it acts."""

    token: Token
    member: Member


class Tokens:
    """All tokens. Methods are whole transactions and may be called from any thread."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def make(
        self, name: str, member: str | None = None, *, scopes: Iterable[Scope] = SCOPES, days: int | None = None
    ) -> tuple[Token, str]:
        """A new token, and its secret (256 random bits), which is kept nowhere.

        ``member`` is an id; None makes it for the member of the token's own name, who joins if need be. After ``days``
        it ends by itself. Raises :class:`NameTaken` where the member has a token of this name.
        """
        secret, made = PREFIX + secrets.token_urlsafe(32), now()
        token = Token(id=new_id("tok_"), name=name, hash=_hash(secret), scopes=frozenset(scopes), created_at=made)
        token.expires_at = made + timedelta(days=days) if days is not None else None
        with self._database.write() as session:
            token.member = member or _member_named(session, name).id
            same = and_(Token.name == name, Token.member == token.member, _in_force())
            if session.scalar(select(Token).where(same)) is not None:
                raise NameTaken(f"a token named {name!r} is in force; revoke it, or choose another name")
            session.add(token)
        return token, secret

    def all(self) -> list[Token]:
        """Every token there ever was, oldest first."""
        with self._database.read() as session:
            return list(session.scalars(select(Token).order_by(Token.created_at, Token.id)))

    def of(self, member: str) -> list[Token]:
        """The tokens that a member ever had, oldest first."""
        with self._database.read() as session:
            oldest_first = select(Token).where(Token.member == member).order_by(Token.created_at, Token.id)
            return list(session.scalars(oldest_first))

    def revoke(self, name_or_id: str, member: str | None = None) -> bool:
        """End a token's force, at once; False where none of this name or id is in force (and the member's, if given).

        Raises :class:`Ambiguous` where several members have a token of this name.
        """
        with self._database.write() as session:
            token = _named(session, name_or_id, member)
            if token is None:
                return False
            token.revoked_at = now()
            return True

    def named(self, name_or_id: str) -> Token | None:
        """The token in force of this name or id. Raises :class:`Ambiguous` as :meth:`revoke` does."""
        with self._database.read() as session:
            return _named(session, name_or_id)

    def find(self, secret: str) -> Bearer | None:
        """The token in force that this secret belongs to.

        Every token's hash is compared, each in constant time, so that the time taken tells nothing about any of them.
        """
        asked = _hash(secret)
        with self._database.read() as session:
            bearers = [Bearer(token, member) for token, member in session.execute(_bearers())]
        matches = [bearer for bearer in bearers if hmac.compare_digest(bearer.token.hash, asked)]
        return self._used(matches[0]) if matches else None

    def in_force(self, token_id: str) -> Bearer | None:
        """The token of this id; None where there is none, or where its force has ended."""
        with self._database.read() as session:
            found = session.execute(_bearers().where(Token.id == token_id)).one_or_none()
            return Bearer(found[0], found[1]) if found else None

    def any_active(self) -> bool:
        """Whether any token is in force."""
        with self._database.read() as session:
            return session.scalar(select(Token.id).where(_in_force()).limit(1)) is not None

    def _used(self, bearer: Bearer) -> Bearer:
        last = bearer.token.last_used_at
        if last is None or now() - last > LAST_USE_NOTED_EVERY:
            with self._database.write() as session:
                current = session.get(Token, bearer.token.id)
                if current is not None:
                    current.last_used_at = now()
        return bearer


def _named(session: Session, name_or_id: str, member: str | None = None) -> Token | None:
    """The token in force of this name or id, and the member's if one is given. Raises :class:`Ambiguous`."""
    wanted = and_(or_(Token.name == name_or_id, Token.id == name_or_id), _in_force())
    found = session.scalars(select(Token).where(wanted, *([Token.member == member] if member else []))).all()
    if len(found) > 1:
        ids = ", ".join(token.id for token in found)
        raise Ambiguous(f"several members have a token named {name_or_id!r}; name it by its id: {ids}")
    return found[0] if found else None


def _bearers() -> Select[Token, Member]:
    return select(Token, Member).join(Member, Member.id == Token.member).where(_in_force(), Member.ended_at.is_(None))


def _member_named(session: Session, name: str) -> Member:
    """The member of this name, who joins if need be. Raises :class:`NameTaken` for one whose membership has ended."""
    member = session.scalar(select(Member).where(Member.name == name))
    if member is None:
        member = Member(id=new_id("mem_"), name=name, circle=HOUSE, operator=False, created_at=now())
        session.add(member)
        session.flush()
    elif member.ended_at is not None:
        raise NameTaken(f"the membership of {name!r} has ended; choose another name")
    return member


def _in_force() -> ColumnElement[bool]:
    return and_(Token.revoked_at.is_(None), or_(Token.expires_at.is_(None), Token.expires_at > now()))


def _hash(secret: str) -> str:
    # A plain hash is enough: the secret is 256 random bits, not a password that could be guessed.
    return hashlib.sha256(secret.encode()).hexdigest()
