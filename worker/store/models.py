"""The rows: one an inspection, one a member, one an access token."""

from __future__ import annotations

import base64
import secrets
from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any, Literal

from sqlalchemy import JSON, BigInteger, DateTime, Index, String, Text
from sqlalchemy.engine import Dialect
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column
from sqlalchemy.types import TypeDecorator

State = Literal["queued", "measuring", "judging", "done", "failed", "cancelled"]

WAITING: tuple[State, ...] = ("queued",)
RUNNING: tuple[State, ...] = ("measuring", "judging")
UNFINISHED: tuple[State, ...] = WAITING + RUNNING
TERMINAL: tuple[State, ...] = ("done", "failed", "cancelled")

LOCAL = "local"
"""The owner of what is uploaded where no token is asked for."""

HOUSE = "house"
"""The circle of a member for whom no other was named."""

Scope = Literal["read", "submit", "manage"]
SCOPES: tuple[Scope, ...] = ("read", "submit", "manage")
"""What a token lets do: look; upload, judge again and stop; delete, share, and change what its member keeps."""


def now() -> datetime:
    """This moment, in UTC."""
    return datetime.now(UTC)


def new_id(prefix: str) -> str:
    """An id that nobody can guess: the prefix and 26 letters and digits that carry 128 random bits."""
    return prefix + base64.b32encode(secrets.token_bytes(16)).decode().rstrip("=").lower()


def new_inspection_id() -> str:
    """The id of a new inspection: ``ins_`` and 26 characters, safe in a URL and in a file name."""
    return new_id("ins_")


class Instant(TypeDecorator[datetime]):
    """A moment in UTC, with its time zone on the Python side; SQLite keeps none."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        return None if value is None else value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


class Base(DeclarativeBase):
    """All tables."""


class Inspection(Base):
    """One file, measured, and judged against one printer profile. Read only: change it through ``Rows``.

    ``profile_json`` is the profile as it was at intake, and the worker judges by that. ``attempts`` counts how often a
    worker has begun; ``lease_until`` is how long the present one may stay silent. ``failure`` is
    ``{"code", "message", "help", "page", "attempt"}``. ``reader`` is the version that measured it. ``against`` is the
    id of the owner's earlier inspection that its report is compared with; that one may have been deleted since.
    ``request_id`` names the request that brought it, in the logs.

    The file, and the pictures with the proof, may have earlier days than the rest. What has come to its day counts as
    gone at once, whether or not a sweep has been there: ask ``has_file`` and ``has_pictures``. ``file_deleted_at`` and
    ``pictures_deleted_at`` are when one was.
    """

    __tablename__ = "inspections"
    __table_args__ = (
        Index("inspections_of_owner", "owner", "created_at", "id"),
        Index("inspections_by_state", "state", "created_at"),
        Index("inspections_by_content", "sha256", "reader"),
        Index("inspections_by_expiry", "expires_at"),
        Index("inspections_of_account", "owner", "state", "file_deleted_at", "bytes"),
        Index("inspections_by_file_expiry", "file_expires_at"),
        Index("inspections_by_pictures_expiry", "pictures_expire_at"),
    )

    id: Mapped[str] = mapped_column(String(30), primary_key=True)
    owner: Mapped[str] = mapped_column(String(30))
    state: Mapped[State] = mapped_column(String(10))
    file_name: Mapped[str] = mapped_column(Text)
    sha256: Mapped[str] = mapped_column(String(64))
    bytes: Mapped[int] = mapped_column(BigInteger)
    title: Mapped[str | None] = mapped_column(Text)
    profile_id: Mapped[str] = mapped_column(String(100))
    profile_json: Mapped[str] = mapped_column(Text)
    judged_as_pages: Mapped[int | None]
    attempts: Mapped[int] = mapped_column(default=0)
    lease_until: Mapped[datetime | None] = mapped_column(Instant)
    rung_at: Mapped[datetime | None] = mapped_column(Instant)
    progress_done: Mapped[int] = mapped_column(default=0)
    progress_total: Mapped[int | None]
    verdict: Mapped[str | None] = mapped_column(String(20))
    failure: Mapped[dict[str, Any] | None] = mapped_column(JSON)
    created_at: Mapped[datetime] = mapped_column(Instant)
    measured_at: Mapped[datetime | None] = mapped_column(Instant)
    finished_at: Mapped[datetime | None] = mapped_column(Instant)
    expires_at: Mapped[datetime] = mapped_column(Instant)
    reader: Mapped[str | None] = mapped_column(String(30))
    against: Mapped[str | None] = mapped_column(String(30))
    request_id: Mapped[str | None] = mapped_column(String(64))
    file_expires_at: Mapped[datetime | None] = mapped_column(Instant)
    pictures_expire_at: Mapped[datetime | None] = mapped_column(Instant)
    file_deleted_at: Mapped[datetime | None] = mapped_column(Instant)
    pictures_deleted_at: Mapped[datetime | None] = mapped_column(Instant)

    @property
    def finished(self) -> bool:
        """Whether its state is final."""
        return self.state in TERMINAL

    @property
    def file_until(self) -> datetime:
        """The file's day."""
        return self.file_expires_at or self.expires_at

    @property
    def pictures_until(self) -> datetime:
        """The day of the pictures and the proof."""
        return self.pictures_expire_at or self.expires_at

    @property
    def has_file(self) -> bool:
        """Whether the uploaded file can still be had."""
        return self.file_deleted_at is None and self.file_until > now()

    @property
    def has_pictures(self) -> bool:
        """Whether pictures of its pages, and its proof, can still be had if they have been made."""
        return self.pictures_deleted_at is None and self.pictures_until > now()


class Member(Base):
    """Somebody who uses the service: owner of inspections and of tokens. A ``circle`` shares its printer profiles."""

    __tablename__ = "members"

    id: Mapped[str] = mapped_column(String(30), primary_key=True)
    name: Mapped[str] = mapped_column(Text, unique=True)
    circle: Mapped[str] = mapped_column(Text)
    operator: Mapped[bool]
    created_at: Mapped[datetime] = mapped_column(Instant)
    ended_at: Mapped[datetime | None] = mapped_column(Instant)


class Scopes(TypeDecorator[frozenset[Scope]]):
    """A set of scopes; the database keeps their names in one text."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Iterable[Scope] | None, dialect: Dialect) -> str | None:
        return None if value is None else " ".join(sorted(value))

    def process_result_value(self, value: str | None, dialect: Dialect) -> frozenset[Scope] | None:
        return None if value is None else frozenset(scope for scope in SCOPES if scope in value.split())


class Token(Base):
    """Leave to use the service in a member's name. Of the secret itself only the SHA-256 is kept."""

    __tablename__ = "tokens"
    __table_args__ = (Index("tokens_of_member", "member"),)

    id: Mapped[str] = mapped_column(String(30), primary_key=True)
    name: Mapped[str] = mapped_column(Text)
    hash: Mapped[str] = mapped_column(String(64), unique=True)
    created_at: Mapped[datetime] = mapped_column(Instant)
    last_used_at: Mapped[datetime | None] = mapped_column(Instant)
    revoked_at: Mapped[datetime | None] = mapped_column(Instant)
    member: Mapped[str] = mapped_column(String(30), server_default="")
    scopes: Mapped[frozenset[Scope]] = mapped_column(Scopes, server_default=" ".join(sorted(SCOPES)))
    expires_at: Mapped[datetime | None] = mapped_column(Instant)
