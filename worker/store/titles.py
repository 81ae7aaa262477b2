"""The titles of a press, from the first word about a book to its pass for press, and the files that came for each.

Where a title stands follows from what is done: a file that comes has to be looked at, a pass is for one file's bytes,
and another file takes the title back. Every change names the owner; a title of somebody else's is none at all.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, case, delete, func, or_, select, tuple_, update
from sqlalchemy.orm import Session

from worker.store.cursor import cursor_at, place_of
from worker.store.database import Database
from worker.store.errors import AnotherFile, BadCursor, LinkSpent, NoTitle, Withdrawn
from worker.store.models import Inspection, new_id, now
from worker.store.title_models import (
    PASSED,
    TO_BE_LOOKED_AT,
    WAITING_FOR_AUTHOR,
    WITHDRAWN,
    Arrival,
    AuthorLink,
    Standing,
    Submission,
    Title,
)

MOST_ON_A_PAGE = 200
A_DAY = timedelta(days=1)

PLACES: dict[Standing, int] = {TO_BE_LOOKED_AT: 3, WAITING_FOR_AUTHOR: 2, PASSED: 1, WITHDRAWN: 0}
"""How far up a title stands in a list by what has to be done: what waits for the desk comes first."""


@dataclass(frozen=True)
class NewTitle:
    """What a press knows of a book. ``isbn`` has thirteen digits; ``trim`` is one of the printer's."""

    author: str
    title: str
    profile_id: str
    isbn: str | None = None
    trim: str | None = None
    expected_pages: int | None = None
    note: str = ""


@dataclass(frozen=True)
class NewSubmission:
    """A file that has become an inspection. ``link_id``: the author's link that it came by, which takes at most
    ``most_a_day``."""

    inspection_id: str
    sha256: str
    file_name: str
    bytes: int
    received_by: str | None = None
    link_id: str | None = None
    most_a_day: int | None = None


@dataclass(frozen=True)
class Listed:
    """A title, its last submission, and the inspection of that as long as it is kept."""

    title: Title
    submission: Submission | None
    inspection: Inspection | None

    @property
    def verdict(self) -> str | None:
        """Of the last submission; None as long as there is none."""
        if self.inspection is not None:
            return self.inspection.verdict
        return self.submission.verdict if self.submission is not None else None


@dataclass(frozen=True)
class TitlePage:
    """A part of a list, the last touched first; ``next`` is the cursor of the part after it, None at the end."""

    items: list[Listed]
    next: str | None


class Titles:
    """All titles. Methods are whole transactions and may be called from any thread."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def create(self, owner: str, new: NewTitle) -> Title:
        """A new title, which waits for its author."""
        created = now()
        row = Title(
            id=new_id("tit_"),
            owner=owner,
            **asdict(new),
            author_sought=sought(new.author),
            title_sought=sought(new.title),
            standing=WAITING_FOR_AUTHOR,
            submissions=0,
            created_at=created,
            touched_at=created,
        )
        with self._database.write() as session:
            session.add(row)
        return row

    def get(self, title_id: str, owner: str) -> Title | None:
        """The owner's title of that id."""
        with self._database.read() as session:
            return session.scalar(select(Title).where(_named(title_id, owner)))

    def change(self, title_id: str, owner: str, changes: Mapping[str, Any]) -> Title:
        """Change members of a title, those of :class:`NewTitle`. Raises :class:`NoTitle`."""
        with self._database.write() as session:
            row = _held(session, title_id, owner)
            for name, value in changes.items():
                setattr(row, name, value)
            row.author_sought, row.title_sought = sought(row.author), sought(row.title)
            row.touched_at = now()
            return row

    def page(
        self,
        owner: str,
        *,
        about: str | None = None,
        author: str | None = None,
        title: str | None = None,
        isbn: str | None = None,
        verdict: str | None = None,
        standing: str | None = None,
        to_do_first: bool = False,
        after: str | None = None,
        size: int = 50,
    ) -> TitlePage:
        """The owner's titles, the last touched first; ``to_do_first``: by :data:`PLACES`, then the last touched first.

        ``author`` and ``title`` are parts of these, in any letter case and without regard to accents; ``isbn`` is the
        beginning of one, in digits. ``about`` is any of the three. ``verdict`` is that of the last submission.
        ``after`` is a cursor from :class:`TitlePage` in the same order; raises :class:`BadCursor` for any other text.
        """
        asked = [Title.owner == owner]
        asked += [Title.author_sought.contains(sought(author), autoescape=True)] if author else []
        asked += [Title.title_sought.contains(sought(title), autoescape=True)] if title else []
        asked += [Title.isbn.startswith(isbn, autoescape=True)] if isbn else []
        asked += [_about(about)] if about else []
        asked += [func.coalesce(Inspection.verdict, Submission.verdict) == verdict] if verdict else []
        asked += [Title.standing == standing] if standing else []
        asked += [_comes_after(after, to_do_first)] if after else []
        size = max(1, min(size, MOST_ON_A_PAGE))
        places = [_place().desc()] if to_do_first else []
        latest = _with_last().where(*asked).order_by(*places, Title.touched_at.desc(), Title.id.desc())
        with self._database.read() as session:
            found = [Listed(row[0], row[1], row[2]) for row in session.execute(latest.limit(size + 1))]
        last = found[size - 1].title if len(found) > size else None
        return TitlePage(found[:size], _cursor(last, to_do_first) if last else None)

    def with_isbn(self, owner: str, isbn: str) -> list[Title]:
        """The owner's titles of that number."""
        with self._database.read() as session:
            return list(session.scalars(select(Title).where(Title.owner == owner, Title.isbn == isbn)))

    def in_hand(self, owner: str, *, most: int = 1000) -> list[Title]:
        """The titles that may get a file, in the order of their names."""
        which = select(Title).where(Title.owner == owner, Title.standing != WITHDRAWN)
        with self._database.read() as session:
            return list(session.scalars(which.order_by(Title.title_sought, Title.id).limit(most)))

    def delete(self, title_id: str, owner: str) -> list[str] | None:
        """Take a title away with its submissions and its authors' links; the ids of its inspections, which stay.

        None where there is no such title.
        """
        with self._database.write() as session:
            row = session.scalar(select(Title).where(_named(title_id, owner)).with_for_update())
            if row is None:
                return None
            of_it = select(Submission.inspection_id).where(Submission.title_id == row.id)
            inspections = list(session.scalars(of_it))
            for of_title in (Submission, AuthorLink, Arrival):
                session.execute(delete(of_title).where(of_title.title_id == row.id))
            session.delete(row)
            return inspections

    def counts(self, owner: str) -> dict[str, int]:
        """How many of the owner's titles stand where."""
        counted = select(Title.standing, func.count()).where(Title.owner == owner).group_by(Title.standing)
        with self._database.read() as session:
            return {row[0]: row[1] for row in session.execute(counted)}

    def of_inspection(self, inspection_id: str, owner: str) -> Title | None:
        """The owner's title that an inspection is a file of."""
        which = select(Title).join(Submission, Submission.title_id == Title.id)
        with self._database.read() as session:
            return session.scalar(which.where(Submission.inspection_id == inspection_id, Title.owner == owner))

    # The files of a title.

    def submit(self, title_id: str, owner: str, new: NewSubmission) -> Submission:
        """One more file of a title, which has to be looked at now; one with the very bytes that were passed is passed.

        An inspection that is a file of it already stays the one that it is. Raises :class:`NoTitle`,
        :class:`Withdrawn`, and :class:`LinkSpent` where it came by a link that takes no more.
        """
        with self._database.write() as session:
            row = _held(session, title_id, owner)
            known = and_(Submission.title_id == row.id, Submission.inspection_id == new.inspection_id)
            if (there := session.scalar(select(Submission).where(known))) is not None:
                return there
            if row.standing == WITHDRAWN:
                raise Withdrawn
            if new.link_id is not None:
                _guard_link(session, new)
            before = _numbered(session, row.id, row.submissions)
            made = _submission(row, new)
            if row.standing == PASSED and before is not None and before.sha256 == new.sha256:
                made.passed_at, made.passed_by = before.passed_at, before.passed_by
            else:
                row.standing = TO_BE_LOOKED_AT
            row.submissions, row.touched_at = made.number, made.received_at
            session.add(made)
            return made

    def submissions(self, title_id: str) -> list[tuple[Submission, Inspection | None]]:
        """Every file of a title in the order in which they came, with its inspection as long as that is kept."""
        both = select(Submission, Inspection).outerjoin(Inspection, Inspection.id == Submission.inspection_id)
        with self._database.read() as session:
            found = session.execute(both.where(Submission.title_id == title_id).order_by(Submission.number))
            return [(row[0], row[1]) for row in found]

    def came_today(self, link_id: str) -> int:
        """How many files came by this link within a day."""
        with self._database.read() as session:
            return _came_since(session, link_id, now() - A_DAY)

    def note_verdict(self, inspection_id: str) -> None:
        """Keep what an inspection came to with its submissions, before it is deleted."""
        with self._database.write() as session:
            row = session.get(Inspection, inspection_id)
            if row is not None and row.state == "done":
                of_it = update(Submission).where(Submission.inspection_id == inspection_id)
                session.execute(of_it.values(verdict=row.verdict, pages=row.progress_total))

    # Where a title stands.

    def pass_for_press(self, title_id: str, owner: str, *, sha256: str, by: str | None) -> Title:
        """Pass the title's last file, if it has these bytes; ``by`` is who says so.

        Raises :class:`NoTitle`, :class:`Withdrawn`, :class:`AnotherFile`.
        """
        with self._database.write() as session:
            row = _held(session, title_id, owner)
            if row.standing == WITHDRAWN:
                raise Withdrawn
            last = _numbered(session, row.id, row.submissions)
            if last is None or last.sha256 != sha256:
                raise AnotherFile
            if row.standing != PASSED:  # a second press of the button is no second pass
                row.standing, row.touched_at = PASSED, now()
                last.passed_at, last.passed_by = row.touched_at, by
            return row

    def stand(self, title_id: str, owner: str, standing: Standing) -> Title:
        """Wait for the author, look at it again, withdraw it. A pass ends by each of them. Raises :class:`NoTitle`.

        A title without a file can only wait for one.
        """
        with self._database.write() as session:
            row = _held(session, title_id, owner)
            if standing == TO_BE_LOOKED_AT and not row.submissions:
                standing = WAITING_FOR_AUTHOR
            last = _numbered(session, row.id, row.submissions)
            if last is not None:
                last.passed_at = last.passed_by = None
            row.standing, row.touched_at = standing, now()
            return row


def sought(text: str) -> str:
    """A text as it is looked for: without accents, in one letter case."""
    apart = unicodedata.normalize("NFKD", text)
    plain = "".join(sign for sign in apart if not unicodedata.combining(sign))
    return " ".join(plain.casefold().split())


def _place() -> ColumnElement[int]:
    return case(PLACES, value=Title.standing, else_=0)


def _cursor(last: Title, to_do_first: bool) -> str:
    return cursor_at(last.touched_at, f"{PLACES[last.standing]}{last.id}" if to_do_first else last.id)


def _comes_after(cursor: str, to_do_first: bool) -> ColumnElement[bool]:
    """What stands after the row of this cursor. Raises :class:`BadCursor`."""
    moment, last = place_of(cursor)
    if not to_do_first:
        return tuple_(Title.touched_at, Title.id) < tuple_(moment, last)
    place, last_id = last[:1], last[1:]
    if place not in {str(each) for each in PLACES.values()}:
        raise BadCursor("this cursor is of a list in another order; begin at the first part of the list again")
    below = tuple_(Title.touched_at, Title.id) < tuple_(moment, last_id)
    return or_(_place() < int(place), and_(_place() == int(place), below))


def _about(text: str) -> ColumnElement[bool]:
    digits = "".join(sign for sign in text if sign not in " -\u2010\u2011\u2013")
    either = [
        Title.author_sought.contains(sought(text), autoescape=True),
        Title.title_sought.contains(sought(text), autoescape=True),
    ]
    if digits.isdecimal() and digits.isascii():
        either.append(Title.isbn.contains(digits, autoescape=True))
    return or_(*either)


def _with_last() -> Select[Title, Submission, Inspection]:
    last = and_(Submission.title_id == Title.id, Submission.number == Title.submissions)
    return (
        select(Title, Submission, Inspection)
        .outerjoin(Submission, last)
        .outerjoin(Inspection, Inspection.id == Submission.inspection_id)
    )


def _named(title_id: str, owner: str) -> ColumnElement[bool]:
    return and_(Title.id == title_id, Title.owner == owner)


def _held(session: Session, title_id: str, owner: str) -> Title:
    row = session.scalar(select(Title).where(_named(title_id, owner)).with_for_update())
    if row is None:
        raise NoTitle
    return row


def _numbered(session: Session, title_id: str, number: int) -> Submission | None:
    return session.scalar(select(Submission).where(Submission.title_id == title_id, Submission.number == number))


def _submission(title: Title, new: NewSubmission) -> Submission:
    known = {name: value for name, value in asdict(new).items() if name != "most_a_day"}
    number = title.submissions + 1
    return Submission(id=new_id("sub_"), title_id=title.id, number=number, received_at=now(), **known)


def _guard_link(session: Session, new: NewSubmission) -> None:
    link = session.get(AuthorLink, new.link_id)
    in_force = link is not None and link.withdrawn_at is None and link.expires_at > now()
    came = _came_since(session, str(new.link_id), now() - A_DAY)
    if not in_force or (new.most_a_day is not None and came >= new.most_a_day):
        raise LinkSpent


def _came_since(session: Session, link_id: str, since: datetime) -> int:
    which: Sequence[ColumnElement[bool]] = (Submission.link_id == link_id, Submission.received_at > since)
    return session.scalar(select(func.count()).select_from(Submission).where(*which)) or 0
