"""Access tokens: named, shown once, kept as a hash, revocable."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from datetime import timedelta

from sqlalchemy import ColumnElement, or_, select

from worker.store.database import Database
from worker.store.errors import NameTaken
from worker.store.models import Token, new_id, now

PREFIX = "pw_"
LAST_USE_NOTED_EVERY = timedelta(minutes=1)


class Tokens:
    """All tokens. Methods are whole transactions and may be called from any thread."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def make(self, name: str) -> tuple[Token, str]:
        """A new token, and its secret (256 random bits), which is kept nowhere. Raises :class:`NameTaken`."""
        secret = PREFIX + secrets.token_urlsafe(32)
        token = Token(id=new_id("tok_"), name=name, hash=_hash(secret), created_at=now())
        with self._database.write() as session:
            if session.scalar(select(Token).where(Token.name == name, _in_force())) is not None:
                raise NameTaken(f"a token named {name!r} is in force; revoke it, or choose another name")
            session.add(token)
        return token, secret

    def all(self) -> list[Token]:
        """Every token there ever was, oldest first."""
        with self._database.read() as session:
            return list(session.scalars(select(Token).order_by(Token.created_at, Token.id)))

    def revoke(self, name_or_id: str) -> bool:
        """End a token's force, at once; False where none of this name or id is in force."""
        named = or_(Token.name == name_or_id, Token.id == name_or_id)
        with self._database.write() as session:
            token = session.scalar(select(Token).where(named, _in_force()))
            if token is None:
                return False
            token.revoked_at = now()
            return True

    def find(self, secret: str) -> Token | None:
        """The token in force that this secret belongs to.

        Every token's hash is compared, each in constant time, so that the time taken tells nothing about any of them.
        """
        asked = _hash(secret)
        with self._database.read() as session:
            tokens = session.scalars(select(Token).where(_in_force())).all()
        matches = [token for token in tokens if hmac.compare_digest(token.hash, asked)]
        return self._used(matches[0]) if matches else None

    def in_force(self, token_id: str) -> Token | None:
        """The token of this id; None where there is none, or where it has been revoked."""
        with self._database.read() as session:
            return session.scalar(select(Token).where(Token.id == token_id, _in_force()))

    def any_active(self) -> bool:
        """Whether any token is in force."""
        with self._database.read() as session:
            return session.scalar(select(Token.id).where(_in_force()).limit(1)) is not None

    def _used(self, token: Token) -> Token:
        if token.last_used_at is None or now() - token.last_used_at > LAST_USE_NOTED_EVERY:
            with self._database.write() as session:
                current = session.get(Token, token.id)
                if current is not None:
                    current.last_used_at = now()
        return token


def _in_force() -> ColumnElement[bool]:
    return Token.revoked_at.is_(None)


def _hash(secret: str) -> str:
    # A plain hash is enough: the secret is 256 random bits, not a password that could be guessed.
    return hashlib.sha256(secret.encode()).hexdigest()
