"""Examples of titles for the API's description, of a book and people that are invented."""

from __future__ import annotations

from datetime import UTC, datetime

from service.api.examples import as_example
from service.api.title_resources import (
    AuthorLink,
    AuthorLinkList,
    Letter,
    NewAuthorLink,
    PassGiven,
    Submission,
    SubmissionLinks,
    SubmissionList,
    Title,
    TitleLinks,
    TitleList,
)
from worker.judge.models import Verdict

__all__ = [
    "AUTHOR_LINKS",
    "FILES",
    "INSPECTED",
    "LETTER",
    "LISTED_TITLES",
    "MADE",
    "NEW_AUTHOR_LINK",
    "SUBMITTED",
]

_ID = "tit_q5x2mzk7v4tj6h3ckw2y7b4d5e"
_HERE = f"/v1/titles/{_ID}"
_INSPECTION = "ins_4tq7mzk2v5xj6h3ckw2y7b4d5e"
_CAME = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)

_SUBMITTED = Submission(
    id="sub_w5x2mzk7v4tj6h3ckw2y7b4d5e",
    title=_ID,
    number=2,
    inspection=_INSPECTION,
    sha256="7c" * 32,
    file_name="the-salt-road.pdf",
    bytes=2_418_803,
    pages=None,
    received_at=_CAME,
    by="desk",
    state="queued",
    verdict=None,
    passed=None,
    links=SubmissionLinks(
        self_=f"{_HERE}/submissions/2", title=_HERE, inspection=f"/v1/inspections/{_INSPECTION}", letter=None
    ),
)
_INSPECTED = _SUBMITTED.model_copy(
    update={
        "state": "done",
        "pages": 312,
        "verdict": Verdict.PRESSWORTHY,
        "passed": PassGiven(by="Orla Fenwick", at=datetime(2026, 11, 26, 8, 5, tzinfo=UTC)),
        "links": _SUBMITTED.links.model_copy(update={"letter": f"{_HERE}/submissions/2/letter"}),
    }
)
_TITLE = Title(
    id=_ID,
    author="Maud Kittering",
    title="The Salt Road",
    isbn="9780000000002",
    profile="ternhaven-mono",
    trim="6 × 9 in",
    expected_pages=312,
    note="",
    standing="passed",
    submissions=2,
    last=_INSPECTED,
    created_at=datetime(2026, 11, 20, 14, 0, tzinfo=UTC),
    touched_at=datetime(2026, 11, 26, 8, 5, tzinfo=UTC),
    links=TitleLinks(self_=_HERE, submissions=f"{_HERE}/submissions", pass_=f"{_HERE}/pass", links=f"{_HERE}/links"),
)
_LETTER = Letter(
    title=_ID,
    number=2,
    inspection=_INSPECTION,
    text="Dear Maud Kittering,\n\nThank you for the file of “The Salt Road” that came on 25 November 2026.\n",
)
_LINK = AuthorLink(
    id="lnk_r5x2mzk7v4tj6h3ckw2y7b4d5e",
    created_at=datetime(2026, 11, 20, 14, 5, tzinfo=UTC),
    expires_at=datetime(2026, 12, 20, 14, 5, tzinfo=UTC),
    withdrawn_at=None,
)
_NEW_LINK = NewAuthorLink(**dict(_LINK), link="https://press.tern-island.example/author/" + "A" * 43)


SUBMITTED = {"submitted": as_example("It waits", _SUBMITTED)}
MADE = {"passed": as_example("It is passed for press", _TITLE)}
INSPECTED = {"inspected": as_example("It has its report, and is passed", _INSPECTED)}
FILES = {"listed": as_example("The last one is passed", SubmissionList(submissions=[_INSPECTED]))}
LETTER = {"letter": as_example("How it begins", _LETTER)}
AUTHOR_LINKS = {"listed": as_example("The only one", AuthorLinkList(links=[_LINK]))}
NEW_AUTHOR_LINK = {"made": as_example("A link that leads nowhere", _NEW_LINK)}
LISTED_TITLES = {"listed": as_example("The only one", TitleList(titles=[_TITLE], next=None))}
