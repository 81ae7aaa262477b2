"""Authors' links: shown once, kept as a hash, in force until their day or until they are withdrawn."""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets
from datetime import timedelta

from sqlalchemy import ColumnElement, select

from worker.store.database import Database
from worker.store.errors import NoTitle, Withdrawn
from worker.store.models import new_id, now
from worker.store.title_models import WITHDRAWN, AuthorLink, Title

SECRET_BYTES = 32
_SECRET = re.compile(r"[A-Za-z0-9_-]{43}", re.ASCII)
"""How 32 bytes look in the alphabet of ``secrets.token_urlsafe``."""


class AuthorLinks:
    """All links. Methods are whole transactions and may be called from any thread."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def make(self, title_id: str, owner: str, *, days: int) -> tuple[AuthorLink, str]:
        """A new link to the owner's title, and its secret (256 random bits), which is kept nowhere.

        Raises :class:`NoTitle`, and :class:`Withdrawn`.
        """
        secret = secrets.token_urlsafe(SECRET_BYTES)
        made = now()
        link = AuthorLink(
            id=new_id("lnk_"),
            title_id=title_id,
            hash=_hash(secret),
            created_at=made,
            expires_at=made + timedelta(days=days),
        )
        with self._database.write() as session:
            title = session.scalar(select(Title).where(Title.id == title_id, Title.owner == owner))
            if title is None:
                raise NoTitle
            if title.standing == WITHDRAWN:
                raise Withdrawn
            session.add(link)
        return link, secret

    def of_title(self, title_id: str) -> list[AuthorLink]:
        """Every link that there ever was to a title, the newest first."""
        of_it = select(AuthorLink).where(AuthorLink.title_id == title_id)
        with self._database.read() as session:
            return list(session.scalars(of_it.order_by(AuthorLink.created_at.desc(), AuthorLink.id)))

    def withdraw(self, link_id: str, title_id: str) -> bool:
        """End a link's force, at once; False where the title has no such link in force."""
        with self._database.write() as session:
            which = select(AuthorLink).where(AuthorLink.id == link_id, AuthorLink.title_id == title_id, _in_force())
            link = session.scalar(which)
            if link is None:
                return False
            link.withdrawn_at = now()
            return True

    def find(self, secret: str) -> tuple[AuthorLink, Title] | None:
        """The link in force that this secret belongs to, and its title; None also where that is withdrawn.

        It is looked up by its hash: whoever tries secrets cannot steer their hashes, so the time that the look-up takes
        tells nothing about any of those kept.
        """
        asked = _hash(secret if _SECRET.fullmatch(secret) else "")
        both = select(AuthorLink, Title).join(Title, Title.id == AuthorLink.title_id)
        with self._database.read() as session:
            found = session.execute(both.where(AuthorLink.hash == asked, _in_force())).first()
        if found is None or not hmac.compare_digest(found[0].hash, asked) or found[1].standing == WITHDRAWN:
            return None
        return found[0], found[1]


def _in_force() -> ColumnElement[bool]:
    return AuthorLink.withdrawn_at.is_(None) & (AuthorLink.expires_at > now())


def _hash(secret: str) -> str:
    # A plain hash is enough: the secret is 256 random bits, not a password that could be guessed.
    return hashlib.sha256(secret.encode()).hexdigest()
