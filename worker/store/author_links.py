"""Authors' links: shown once, kept as a hash, in force until their day or until they are withdrawn."""

from __future__ import annotations

from datetime import timedelta

from sqlalchemy import ColumnElement, select

from worker.store.database import Database
from worker.store.errors import NoTitle, Withdrawn
from worker.store.models import new_id, now
from worker.store.secret_links import hash_of, new_secret
from worker.store.title_models import WITHDRAWN, AuthorLink, Title


class AuthorLinks:
    """All links. Methods are whole transactions and may be called from any thread."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def make(self, title_id: str, owner: str, *, days: int) -> tuple[AuthorLink, str]:
        """A new link to the owner's title, and its secret (256 random bits), which is kept nowhere.

        Raises :class:`NoTitle`, and :class:`Withdrawn`.
        """
        secret, made = new_secret(), now()
        link = AuthorLink(
            id=new_id("lnk_"),
            title_id=title_id,
            hash=hash_of(secret),
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
        """The link in force that this secret belongs to, and its title; None also where that is withdrawn."""
        both = select(AuthorLink, Title).join(Title, Title.id == AuthorLink.title_id)
        with self._database.read() as session:
            found = session.execute(both.where(AuthorLink.hash == hash_of(secret), _in_force())).first()
        if found is None or found[1].standing == WITHDRAWN:
            return None
        return found[0], found[1]


def _in_force() -> ColumnElement[bool]:
    return AuthorLink.withdrawn_at.is_(None) & (AuthorLink.expires_at > now())
