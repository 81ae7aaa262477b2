"""The letter to the author, made from a file's report. No mail is sent from here."""

from __future__ import annotations

from service.house import store
from service.problems import NO_SUCH_INSPECTION, Problem
from worker.profiles import Profile
from worker.report.letter import Occasion, letter
from worker.report.models import Report
from worker.store import Inspection, Missing, Submission, Title, report_key
from worker.store.models import now

__all__ = ["letter_to_author"]


def letter_to_author(title: Title, submission: Submission, row: Inspection, *, signed: str) -> str:
    """The letter about a file whose inspection ``row`` is done; ``signed`` is who writes, empty where nobody is named.

    Raises :class:`Problem` where the report has just been deleted.
    """
    try:
        report = Report.model_validate_json(store().bytes.read(report_key(row.id)))
    except Missing:
        told = "This report has just been deleted. Take the file in once more."
        raise Problem(NO_SUCH_INSPECTION, told) from None
    links = store().author_links.of_title(title.id)
    occasion = Occasion(
        author=title.author,
        title=title.title,
        received_at=submission.received_at,
        expected_pages=title.expected_pages,
        link=any(link.withdrawn_at is None and link.expires_at > now() for link in links),
        signed=signed,
    )
    return letter(report, occasion, Profile.model_validate_json(row.profile_json).unit)
