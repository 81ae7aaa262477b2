"""Share links: one inspection, shown to whoever has the link, until its day or until it is withdrawn."""

from __future__ import annotations

from datetime import timedelta

from sqlalchemy import delete, func, select

from worker.store.database import Database
from worker.store.errors import TooManyShares
from worker.store.models import Inspection, new_id, now
from worker.store.secret_links import hash_of, new_secret
from worker.store.share_model import Share

MOST_SHARES = 50
"""Links that one inspection may have at a time."""


class Shares:
    """All share links. Methods are whole transactions and may be called from any thread.

    A link that is withdrawn, whose day has come, or whose inspection is deleted, is gone.
    """

    def __init__(self, database: Database) -> None:
        self._database = database

    def make(self, row: Inspection, *, days: int) -> tuple[Share, str]:
        """A new link to an inspection, and its secret (256 random bits), which is kept nowhere.

        It ends after ``days``, and with the inspection in any case. Raises :class:`TooManyShares`.
        """
        secret, made = new_secret(), now()
        share = Share(id=new_id("shr_"), inspection=row.id, hash=hash_of(secret), created_at=made)
        share.expires_at = min(made + timedelta(days=days), row.expires_at)
        held = select(func.count()).select_from(Share).where(Share.inspection == row.id, Share.expires_at > made)
        with self._database.write() as session:
            if (session.scalar(held) or 0) >= MOST_SHARES:
                raise TooManyShares(f"it has {MOST_SHARES} share links; withdraw one")
            session.add(share)
        return share, secret

    def of(self, inspection_id: str) -> list[Share]:
        """The links to an inspection that hold, oldest first."""
        holding = select(Share).where(Share.inspection == inspection_id, Share.expires_at > now())
        with self._database.read() as session:
            return list(session.scalars(holding.order_by(Share.created_at, Share.id)))

    def withdraw(self, share_id: str, inspection_id: str) -> bool:
        """End a link, at once; False where the inspection has no such link."""
        with self._database.write() as session:
            share = session.get(Share, share_id)
            if share is None or share.inspection != inspection_id or share.expires_at <= now():
                return False
            session.delete(share)
            return True

    def find(self, secret: str) -> Inspection | None:
        """The inspection that a link leads to; None where the link does not hold."""
        shown = select(Inspection).join(Share, Share.inspection == Inspection.id)
        asked = shown.where(Share.hash == hash_of(secret), Share.expires_at > now(), Inspection.expires_at > now())
        with self._database.read() as session:
            return session.scalar(asked)

    def delete_expired(self) -> None:
        """Forget the links whose day has come."""
        with self._database.write() as session:
            session.execute(delete(Share).where(Share.expires_at <= now()))
