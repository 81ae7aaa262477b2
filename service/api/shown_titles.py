"""The caller's titles and their files, as the API shows them."""

from __future__ import annotations

from service.access import owner
from service.api.shown import address_of
from service.api.title_resources import PassGiven, Submission, SubmissionLinks, Title, TitleLinks
from service.desk.ids import is_id
from service.desk.taking_in import no_such_title
from service.house import store
from worker.judge.models import Verdict
from worker.store import Inspection as InspectionRow
from worker.store import Listed
from worker.store import Submission as SubmissionRow
from worker.store import Title as TitleRow

__all__ = ["HERE", "own_title", "shown_listed", "shown_submission", "shown_title"]

HERE = "/v1/titles"


def own_title(title_id: str) -> TitleRow:
    """The caller's title. Raises :class:`Problem`, for another caller's too."""
    row = store().titles.get(title_id, owner()) if is_id("tit", title_id) else None
    if row is None:
        raise no_such_title()
    return row


def shown_title(row: TitleRow) -> Title:
    """A title, looked up with its last file."""
    kept = store().titles.submissions(row.id)
    return shown_listed(Listed(row, *kept[-1]) if kept else Listed(row, None, None))


def shown_listed(listed: Listed) -> Title:
    """A title with its last file, as a list has both."""
    row, here = listed.title, f"{HERE}/{listed.title.id}"
    return Title(
        id=row.id,
        author=row.author,
        title=row.title,
        isbn=row.isbn,
        profile=row.profile_id,
        trim=row.trim,
        expected_pages=row.expected_pages,
        note=row.note,
        standing=row.standing,
        submissions=row.submissions,
        last=shown_submission(listed.submission, listed.inspection) if listed.submission is not None else None,
        created_at=row.created_at,
        touched_at=row.touched_at,
        links=TitleLinks(self_=here, submissions=f"{here}/submissions", pass_=f"{here}/pass", links=f"{here}/links"),
    )


def shown_submission(row: SubmissionRow, inspection: InspectionRow | None) -> Submission:
    """A file of a title, and its inspection as long as that is kept."""
    verdict = inspection.verdict if inspection is not None else row.verdict
    done = inspection is not None and inspection.state == "done"
    here = f"{HERE}/{row.title_id}/submissions/{row.number}"
    return Submission(
        id=row.id,
        title=row.title_id,
        number=row.number,
        inspection=row.inspection_id,
        sha256=row.sha256,
        file_name=row.file_name,
        bytes=row.bytes,
        pages=inspection.progress_total if inspection is not None and done else row.pages,
        received_at=row.received_at,
        by="desk" if row.link_id is None else "author",
        state=inspection.state if inspection is not None else None,
        verdict=Verdict(verdict) if verdict else None,
        passed=PassGiven(by=row.passed_by, at=row.passed_at) if row.passed_at is not None else None,
        links=SubmissionLinks(
            self_=here,
            title=f"{HERE}/{row.title_id}",
            inspection=address_of(row.inspection_id) if inspection is not None else None,
            letter=f"{here}/letter" if done else None,
        ),
    )
