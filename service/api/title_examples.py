"""Examples of titles for the API's description, of a book and people that are invented."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from pydantic import BaseModel

from service.api.title_resources import PassGiven, Submission, SubmissionLinks, Title, TitleLinks, TitleList
from worker.judge.models import Verdict

__all__ = ["LISTED_TITLES", "MADE", "SUBMITTED"]

_ID = "tit_q5x2mzk7v4tj6h3ckw2y7b4d5e"
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
    links=SubmissionLinks(title=f"/v1/titles/{_ID}", inspection=f"/v1/inspections/{_INSPECTION}"),
)
_INSPECTED = _SUBMITTED.model_copy(
    update={
        "state": "done",
        "pages": 312,
        "verdict": Verdict.PRESSWORTHY,
        "passed": PassGiven(by="Orla Fenwick", at=datetime(2026, 11, 26, 8, 5, tzinfo=UTC)),
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
    links=TitleLinks(
        self_=f"/v1/titles/{_ID}", submissions=f"/v1/titles/{_ID}/submissions", pass_=f"/v1/titles/{_ID}/pass"
    ),
)


def _shown(summary: str, value: BaseModel) -> dict[str, Any]:
    return {"summary": summary, "value": value.model_dump(mode="json")}


SUBMITTED = {"submitted": _shown("It waits", _SUBMITTED)}
MADE = {"passed": _shown("It is passed for press", _TITLE)}
LISTED_TITLES = {"listed": _shown("The only one", TitleList(titles=[_TITLE], next=None))}
