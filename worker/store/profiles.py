"""The printer profiles that members keep: each its owner's own, or shared with the owner's circle."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass

from sqlalchemy import ColumnElement, delete, func, or_, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from worker.store.database import Database
from worker.store.errors import StoreError
from worker.store.kept_profiles import KeptProfile
from worker.store.models import now

__all__ = ["NewProfile", "ProfileTaken", "Profiles", "TooManyProfiles"]

Agreed = Callable[[KeptProfile | None], None]
"""Whether a change may be made to the profile that the owner has under this id; raises where it may not."""


class ProfileTaken(StoreError):
    """Another member shares a profile of this id with the circle."""


class TooManyProfiles(StoreError):
    """The owner keeps as many profiles as one may."""


@dataclass(frozen=True)
class NewProfile:
    """A profile as it is to be kept; ``circle`` None keeps it the owner's alone."""

    owner: str
    id: str
    circle: str | None
    toml: str
    json: str

    @property
    def mark(self) -> str:
        """Changes with whatever can be seen of it."""
        told = "\0".join((self.toml, self.json, "private" if self.circle is None else f"circle {self.circle}"))
        return hashlib.sha256(told.encode("utf-8", "surrogatepass")).hexdigest()


class Profiles:
    """All kept profiles. Methods are whole transactions and may be called from any thread."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def known_to(self, owner: str, circle: str | None) -> list[KeptProfile]:
        """The owner's own and those that the circle shares, by id; an own one goes before a shared one of its id."""
        with self._database.read() as session:
            found = session.scalars(select(KeptProfile).where(_known(owner, circle)).order_by(KeptProfile.id)).all()
        own = {row.id for row in found if row.owner == owner}
        return [row for row in found if row.owner == owner or row.id not in own]

    def get(self, profile_id: str, owner: str, circle: str | None) -> KeptProfile | None:
        """The one that this owner knows under the id: its own, or else the circle's."""
        with self._database.read() as session:
            found = session.scalars(select(KeptProfile).where(KeptProfile.id == profile_id, _known(owner, circle)))
            return min(found, key=lambda row: row.owner != owner, default=None)

    def own(self, profile_id: str, owner: str) -> KeptProfile | None:
        """The owner's own of this id."""
        with self._database.read() as session:
            return session.get(KeptProfile, (owner, profile_id))

    def put(self, new: NewProfile, *, most: int, agreed: Agreed) -> tuple[KeptProfile, bool]:
        """Keep it in place of the owner's own of its id; also whether there was none.

        ``agreed`` is asked within the transaction, and what it raises passes. Raises :class:`ProfileTaken`, and
        :class:`TooManyProfiles` where the owner would have more than ``most``.
        """
        try:
            return self._put(new, most, agreed)
        except IntegrityError:  # another has just put one of this id, in the same moment: look again
            return self._put(new, most, agreed)

    def delete(self, profile_id: str, owner: str, *, agreed: Agreed) -> bool:
        """Take the owner's own away; False where there is none. ``agreed`` is asked as for :meth:`put`."""
        with self._database.write() as session:
            row = _own(session, profile_id, owner)
            agreed(row)
            if row is not None:
                session.delete(row)
            return row is not None

    def delete_all(self, owner: str) -> int:
        """Take away all that an owner keeps, as when a member leaves; how many there were."""
        with self._database.write() as session:
            many = session.scalar(select(func.count()).select_from(KeptProfile).where(KeptProfile.owner == owner))
            session.execute(delete(KeptProfile).where(KeptProfile.owner == owner))
            return many or 0

    def _put(self, new: NewProfile, most: int, agreed: Agreed) -> tuple[KeptProfile, bool]:
        with self._database.write() as session:
            row = _own(session, new.id, new.owner)
            agreed(row)
            if _shared_by_another(session, new):
                raise ProfileTaken(f"another member shares a profile with the id {new.id}")
            moment = now()
            made = row is None
            if row is None:
                if _count(session, new.owner) >= most:
                    raise TooManyProfiles(f"{most} profiles are kept, and no more may be")
                row = KeptProfile(owner=new.owner, id=new.id, created_at=moment)
                session.add(row)
            row.circle, row.toml, row.json, row.mark, row.changed_at = (
                new.circle,
                new.toml,
                new.json,
                new.mark,
                moment,
            )
            return row, made


def _known(owner: str, circle: str | None) -> ColumnElement[bool]:
    own = KeptProfile.owner == owner
    return own if circle is None else or_(own, KeptProfile.circle == circle)


def _own(session: Session, profile_id: str, owner: str) -> KeptProfile | None:
    named = select(KeptProfile).where(KeptProfile.owner == owner, KeptProfile.id == profile_id)
    return session.scalar(named.with_for_update())


def _shared_by_another(session: Session, new: NewProfile) -> bool:
    if new.circle is None:
        return False
    others = select(KeptProfile.id).where(
        KeptProfile.circle == new.circle, KeptProfile.id == new.id, KeptProfile.owner != new.owner
    )
    return session.scalar(others) is not None


def _count(session: Session, owner: str) -> int:
    return session.scalar(select(func.count()).select_from(KeptProfile).where(KeptProfile.owner == owner)) or 0
