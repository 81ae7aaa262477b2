"""Rows and bytes together."""

from __future__ import annotations

import sqlite3
from datetime import timedelta
from pathlib import Path

from alembic.util import CommandError
from sqlalchemy.exc import SQLAlchemyError

from worker.settings import SQLITE, Settings
from worker.store.arrivals import Arrivals
from worker.store.author_links import AuthorLinks
from worker.store.callbacks import Callbacks
from worker.store.database import Database
from worker.store.errors import StoreDown, in_one_line
from worker.store.folder import FolderBytes
from worker.store.idempotency import IdempotencyKeys
from worker.store.keys import file_key
from worker.store.members import Members
from worker.store.objects import Bytes
from worker.store.overview import Overview
from worker.store.profiles import Profiles
from worker.store.quotas import Quotas
from worker.store.rows import DaysKept, Rows
from worker.store.shares import Shares
from worker.store.titles import Titles
from worker.store.tokens import Tokens

BROKEN_OFF = 24 * 3600
"""Seconds after which objects without a row, and uploads that never ended, are taken for broken off."""


class Store:
    """What the service keeps; threads may share one. See the package's own words."""

    def __init__(self, database: Database, rows: Rows, objects: Bytes) -> None:
        self._database = database
        self.rows = rows
        self.members = Members(database)
        self.tokens = Tokens(database)
        self.overview = Overview(database)
        self.callbacks = Callbacks(database)
        self.idempotency = IdempotencyKeys(database)
        self.profiles = Profiles(database)
        self.titles = Titles(database)
        self.author_links = AuthorLinks(database)
        self.arrivals = Arrivals(database)
        self.shares = Shares(database)
        self.quotas = Quotas(database)
        self.bytes = objects

    def delete(self, inspection_id: str, owner: str | None = None) -> bool:
        """Take an inspection away, its row first and then its objects; False where there is none of the owner's."""
        self.titles.note_verdict(inspection_id)
        if not self.rows.delete(inspection_id, owner):
            return False
        self.bytes.delete_all(inspection_id)
        return True

    def end_membership(self, name_or_id: str) -> bool:
        """End a membership, its tokens and its printer profiles; False where there is no such member.

        What it has sent stays until its days are over.
        """
        member = self.members.named(name_or_id)
        if member is None or not self.members.end(member.id):
            return False
        self.profiles.delete_all(member.id)
        return True

    def delete_title(self, title_id: str, owner: str) -> bool:
        """Take a title away, and every inspection of a file of it; False where there is none of the owner's."""
        inspections = self.titles.delete(title_id, owner)
        for inspection_id in inspections or ():
            self.rows.cancel(inspection_id, owner)
            self.delete(inspection_id, owner)
        return inspections is not None

    def expire(self, inspection_id: str) -> None:
        """Take away an inspection whose day has come: its objects go first, so that what breaks off is begun again."""
        self.bytes.delete_all(inspection_id)
        self.delete(inspection_id)

    def expire_file(self, inspection_id: str) -> None:
        """Take away an inspection's file, whose day has come; one that still waits for it ends."""
        if self.rows.give_up_file(inspection_id):
            self.bytes.delete(file_key(inspection_id))
            self.rows.note_deleted(inspection_id, file=True)

    def expire_pictures(self, inspection_id: str) -> None:
        """Take away an inspection's pictures and proof, whose day has come."""
        self.bytes.delete_pictures(inspection_id)
        self.rows.note_deleted(inspection_id, pictures=True)

    def forget(self) -> None:
        """Leave nothing of what was deleted in the database's own log."""
        self._database.forget()

    def delete_broken_off(self) -> None:
        """Drop what a power cut left behind: uploads that never ended, objects whose row was never made."""
        self.bytes.tidy(untouched_for=BROKEN_OFF)
        for inspection_id in self.rows.unknown(self.bytes.inspections(untouched_for=BROKEN_OFF)):
            self.bytes.delete_all(inspection_id)

    def check(self) -> None:
        """Raise :class:`StoreDown` unless both the database and the bytes answer."""
        self.check_database()
        self.bytes.check()

    def check_database(self) -> None:
        """Raise :class:`StoreDown` unless the database answers."""
        try:
            self._database.check()
        except SQLAlchemyError as error:
            raise StoreDown("the database does not answer") from error

    def close(self) -> None:
        """Give back every connection."""
        self._database.close()


def open_store(settings: Settings) -> Store:
    """The store of this machine, its tables brought up to date. Not to be carried through a fork.

    Raises :class:`StoreDown` where it cannot be opened; the message is one line that says what to do.
    """
    database = _database(settings.database_url)
    days = (settings.days_kept, settings.days_kept_files, settings.days_kept_pictures)
    kept, lease = DaysKept(*(timedelta(days=each) for each in days)), timedelta(seconds=settings.lease_seconds)
    rows = Rows(database, kept=kept, lease=lease, quota=settings.quota)
    return Store(database, rows, _objects(settings.store_url, settings.files))


def _database(url: str) -> Database:
    try:
        database = Database(url)
        database.migrate()
    except CommandError as error:
        raise StoreDown("the database was written by a later version of this service; run that one") from error
    except (SQLAlchemyError, sqlite3.Error, OSError) as error:
        raise StoreDown(f"the database cannot be opened ({in_one_line(error)}); {_look_at(url)}") from error
    return database


def _look_at(url: str) -> str:
    if url.startswith(SQLITE):
        return f"see that {url.removeprefix(SQLITE)} is this service's and can be written"
    return "see that it runs, and that PRESSWORTHY_DATABASE_URL names it"


def _objects(url: str | None, folder: Path) -> Bytes:
    try:
        if url is None:
            return FolderBytes(folder)
        return _bucket(url, folder / "arriving")
    except OSError as error:
        raise StoreDown(f"{folder} cannot be used for files ({error.strerror or error}); choose another") from error


def _bucket(url: str, arriving: Path) -> Bytes:
    from obstore.exceptions import BaseError  # noqa: PLC0415 - loaded only where a bucket is used

    from worker.store.bucket import BucketBytes  # noqa: PLC0415

    try:
        return BucketBytes(url, arriving=arriving)
    except (BaseError, ValueError) as error:
        raise StoreDown("PRESSWORTHY_STORE_URL names no bucket; write it as s3://bucket/prefix") from error
