"""Keys by which a repeated upload is known (``Idempotency-Key``): one inspection a key, for as long as it is kept.

A key is looked up and written down in the very transaction that makes its inspection, one of an owner's at a time.
So a refused upload takes no key, of two at once one makes the inspection and the other is told which, a key whose time
ends at that moment is either held or free, and a killed service leaves no key half taken.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy import Index, String, Text, delete, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from worker.store.database import Database
from worker.store.errors import StoreError
from worker.store.models import Base, Instant, now


class IdempotencyKey(Base):
    """A key of one owner. ``fingerprint`` is the SHA-256 of what was sent with it; ``inspection_id`` is what was made
    of it, which may have been deleted since."""

    __tablename__ = "idempotency_keys"
    __table_args__ = (Index("idempotency_keys_by_expiry", "expires_at"),)

    owner: Mapped[str] = mapped_column(String(30), primary_key=True)
    key: Mapped[str] = mapped_column(Text, primary_key=True)
    fingerprint: Mapped[str] = mapped_column(String(64))
    inspection_id: Mapped[str] = mapped_column(String(30))
    expires_at: Mapped[datetime] = mapped_column(Instant)


class KeyTaken(StoreError):
    """The key is in force already; ``taken`` is its row. Nothing was written."""

    def __init__(self, taken: IdempotencyKey) -> None:
        super().__init__(f"this key has made {taken.inspection_id}")
        self.taken = taken


class IdempotencyKeys:
    """All keys. Methods are whole transactions and may be called from any thread."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def find(self, owner: str, key: str) -> IdempotencyKey | None:
        """The owner's key, if it is in force. One whose time is over is free again."""
        with self._database.read() as session:
            found = session.get(IdempotencyKey, (owner, key))
        return found if found is not None and _in_force(found) else None

    def forget_expired(self) -> None:
        """Drop the keys whose time is over."""
        with self._database.read() as session:
            over = session.scalar(select(IdempotencyKey.key).where(IdempotencyKey.expires_at <= now()).limit(1))
        if over is not None:
            with self._database.write() as session:
                session.execute(delete(IdempotencyKey).where(IdempotencyKey.expires_at <= now()))


def key_taken_by(inspection_id: str, *, owner: str, key: str, fingerprint: str, kept: timedelta) -> IdempotencyKey:
    """A new row, to be written in the transaction that makes its inspection."""
    return IdempotencyKey(
        owner=owner, key=key, fingerprint=fingerprint, inspection_id=inspection_id, expires_at=now() + kept
    )


def take_key(session: Session, wanted: IdempotencyKey) -> None:
    """Write a key down, in a transaction that is the only one to take any of its owner's. Raises :class:`KeyTaken`."""
    held = session.get(IdempotencyKey, (wanted.owner, wanted.key))
    if held is not None and _in_force(held):
        session.expunge(held)  # so that it is still known once the transaction is undone
        raise KeyTaken(held)
    session.merge(wanted)


def _in_force(key: IdempotencyKey) -> bool:
    return key.expires_at > now()
