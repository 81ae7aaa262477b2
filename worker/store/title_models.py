"""The rows of the desk: a title, its submissions, its author's links, and the files that came in by a delivery."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from sqlalchemy import BigInteger, Index, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from worker.store.models import Base, Instant

Standing = Literal["waiting-for-author", "to-be-looked-at", "passed", "withdrawn"]

WAITING_FOR_AUTHOR: Standing = "waiting-for-author"
TO_BE_LOOKED_AT: Standing = "to-be-looked-at"
PASSED: Standing = "passed"
WITHDRAWN: Standing = "withdrawn"


class Title(Base):
    """A book that a press brings out. Read only: change it through ``Titles``.

    ``trim`` is the size agreed on, as ``worker.profiles`` names it; None where none is. ``submissions`` counts the
    files so far. ``author_sought`` and ``title_sought`` are what a list is searched by. ``touched_at`` is when anything
    about it last changed.
    """

    __tablename__ = "titles"
    __table_args__ = (
        Index("titles_of_owner", "owner", "touched_at", "id"),
        Index("titles_by_isbn", "owner", "isbn"),
    )

    id: Mapped[str] = mapped_column(String(30), primary_key=True)
    owner: Mapped[str] = mapped_column(String(30))
    author: Mapped[str] = mapped_column(Text)
    author_sought: Mapped[str] = mapped_column(Text)
    title: Mapped[str] = mapped_column(Text)
    title_sought: Mapped[str] = mapped_column(Text)
    isbn: Mapped[str | None] = mapped_column(String(13))
    profile_id: Mapped[str] = mapped_column(String(100))
    trim: Mapped[str | None] = mapped_column(Text)
    expected_pages: Mapped[int | None]
    note: Mapped[str] = mapped_column(Text, default="")
    standing: Mapped[Standing] = mapped_column(String(20))
    submissions: Mapped[int] = mapped_column(default=0)
    created_at: Mapped[datetime] = mapped_column(Instant)
    touched_at: Mapped[datetime] = mapped_column(Instant)


class Submission(Base):
    """A file of a title, the ``number``-th from 1.

    It outlives its inspection, whose ``verdict`` and ``pages`` are noted here before that is deleted. ``link_id`` is
    the author's link that it came by; None: at the desk. A pass is of these bytes alone, and names who gave it.
    """

    __tablename__ = "submissions"
    __table_args__ = (
        UniqueConstraint("title_id", "number"),
        Index("submissions_by_inspection", "inspection_id"),
        Index("submissions_by_link", "link_id", "received_at"),
    )

    id: Mapped[str] = mapped_column(String(30), primary_key=True)
    title_id: Mapped[str] = mapped_column(String(30))
    number: Mapped[int]
    inspection_id: Mapped[str] = mapped_column(String(30))
    sha256: Mapped[str] = mapped_column(String(64))
    file_name: Mapped[str] = mapped_column(Text)
    bytes: Mapped[int] = mapped_column(BigInteger)
    received_at: Mapped[datetime] = mapped_column(Instant)
    received_by: Mapped[str | None] = mapped_column(Text)
    link_id: Mapped[str | None] = mapped_column(String(30))
    verdict: Mapped[str | None] = mapped_column(String(20))
    pages: Mapped[int | None]
    passed_at: Mapped[datetime | None] = mapped_column(Instant)
    passed_by: Mapped[str | None] = mapped_column(Text)


class AuthorLink(Base):
    """Leave to send files of one title, and to read their reports. Of the secret itself only the SHA-256 is kept."""

    __tablename__ = "author_links"
    __table_args__ = (Index("author_links_of_title", "title_id", "created_at"),)

    id: Mapped[str] = mapped_column(String(30), primary_key=True)
    title_id: Mapped[str] = mapped_column(String(30))
    hash: Mapped[str] = mapped_column(String(64), unique=True)
    created_at: Mapped[datetime] = mapped_column(Instant)
    expires_at: Mapped[datetime] = mapped_column(Instant)
    withdrawn_at: Mapped[datetime | None] = mapped_column(Instant)


class Arrival(Base):
    """One file of a delivery, in its ``place`` from 1: refused (``refusal`` says why), or kept as an inspection.

    Once it is with a title, ``title_id`` and ``number`` say which submission it became, and ``how`` by what it was
    known. ``file_name`` is empty once its inspection is deleted, where no title has it.
    """

    __tablename__ = "arrivals"
    __table_args__ = (
        UniqueConstraint("delivery", "place"),
        Index("arrivals_of_owner", "owner", "received_at"),
        Index("arrivals_by_inspection", "inspection_id"),
    )

    id: Mapped[str] = mapped_column(String(30), primary_key=True)
    owner: Mapped[str] = mapped_column(String(30))
    delivery: Mapped[str] = mapped_column(String(30))
    place: Mapped[int]
    file_name: Mapped[str] = mapped_column(Text)
    received_at: Mapped[datetime] = mapped_column(Instant)
    refusal: Mapped[str | None] = mapped_column(Text)
    inspection_id: Mapped[str | None] = mapped_column(String(30))
    title_id: Mapped[str | None] = mapped_column(String(30))
    number: Mapped[int | None]
    how: Mapped[str | None] = mapped_column(Text)
