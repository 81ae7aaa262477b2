"""Examples for the API's description, of a book and a printer that are invented."""

from __future__ import annotations

import tomllib
from datetime import UTC, datetime
from typing import Any

from pydantic import BaseModel

from service.api.resources import (
    CallbackSecret,
    Delivery,
    DeliveryList,
    InspectionList,
    NewShare,
    ProfileList,
    ProfileSummary,
    Share,
    ShareList,
)
from worker.judge.models import Verdict
from worker.measure.models import File
from worker.shown import Failure, Inspection, InspectionLinks, Progress

__all__ = [
    "CANCELLED",
    "DELIVERED",
    "DONE",
    "DONE_INSPECTION",
    "FAILED",
    "FORM_BODY",
    "FORM_OF_A_TITLE",
    "LISTED",
    "PROFILE",
    "PROFILES",
    "PROFILE_TOML",
    "QUEUED",
    "REPEATED",
    "SECRET",
    "SHARED",
    "SHARES",
    "SUMMARY",
    "as_example",
]

_ID = "ins_4tq7mzk2v5xj6h3ckw2y7b4d5e"
_HERE = f"/v1/inspections/{_ID}"
_MADE = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)

_QUEUED = Inspection(
    id=_ID,
    state="queued",
    file=File(name="the-long-mole.pdf", sha256="7c" * 32, bytes=2_418_803),
    profile="ternhaven-mono",
    title="The Long Mole",
    judged_as_pages=None,
    against=None,
    position=2,
    progress=Progress(done=0, total=None),
    verdict=None,
    failure=None,
    created_at=_MADE,
    measured_at=None,
    finished_at=None,
    expires_at=datetime(2026, 12, 25, 9, 30, tzinfo=UTC),
    file_expires_at=datetime(2026, 12, 2, 9, 30, tzinfo=UTC),
    pictures_expire_at=datetime(2026, 12, 25, 9, 30, tzinfo=UTC),
    links=InspectionLinks(
        self_=_HERE,
        report=None,
        report_html=None,
        measurements=None,
        pages=None,
        proof=None,
        judgements=None,
        deliveries=f"{_HERE}/deliveries",
        cancellation=f"{_HERE}/cancellation",
    ),
)
_ENDED = {"position": None, "finished_at": datetime(2026, 11, 25, 9, 31, 12, tzinfo=UTC)}
DONE_INSPECTION = _QUEUED.model_copy(
    update=_ENDED
    | {
        "state": "done",
        "verdict": Verdict.NOT_PRESSWORTHY,
        "progress": Progress(done=312, total=312),
        "measured_at": datetime(2026, 11, 25, 9, 31, 10, tzinfo=UTC),
        "links": InspectionLinks(
            self_=_HERE,
            report=f"{_HERE}/report.json",
            report_html=f"{_HERE}/report.html",
            measurements=f"{_HERE}/measurements",
            pages=f"{_HERE}/pages/{{page}}.png",
            proof=f"{_HERE}/proof.pdf",
            judgements=f"{_HERE}/judgements",
            deliveries=f"{_HERE}/deliveries",
            cancellation=None,
        ),
    }
)
_FAILED = _QUEUED.model_copy(
    update=_ENDED
    | {
        "state": "failed",
        "progress": Progress(done=211, total=312),
        "failure": Failure(
            code="limit",
            message="page 212 takes more than the 1.5 GB that measuring a file may take",
            help="Split the book, or make its pictures smaller, and upload it again.",
            page=212,
            attempt=1,
        ),
        "links": _QUEUED.links.model_copy(update={"cancellation": None}),
    }
)

_SUMMARY = ProfileSummary(
    id="mole-press",
    name="Mole Press, black and white",
    revision="2026-11",
    unit="in",
    note="An invented printer.",
    source="own",
    shared="circle",
    link="/v1/profiles/mole-press",
)
_TOML = """\
id = "mole-press"
name = "Mole Press, black and white"
revision = "2026-11"
unit = "in"
note = "An invented printer."

[interior]
trims = [{ name = "Trade", width = "6 in", height = "9 in" }]
page_count = { least = 40, most = 840, multiple = 2 }

[interior.margins]
outside = "0.3 in"
head = "0.3 in"
foot = "0.3 in"
inside = [{ pages = 160, least = "0.45 in" }, { least = "0.9 in" }]
"""

_DELIVERY_ID = "dlv_2wq5m7zk4v3xj6h2ckw7y4b5da"
_DELIVERY = Delivery(
    id=_DELIVERY_ID,
    type="inspection.done",
    callback_url="https://desk.tern-island.example/books/inspected",
    state="waiting",
    attempts=1,
    next_at=datetime(2026, 11, 25, 9, 31, 17, tzinfo=UTC),
    last_at=datetime(2026, 11, 25, 9, 31, 12, tzinfo=UTC),
    last_status=503,
    last_problem=None,
    created_at=_MADE,
    delivered_at=None,
    expires_at=datetime(2026, 12, 25, 9, 30, tzinfo=UTC),
    repetition=f"{_HERE}/deliveries/{_DELIVERY_ID}/repetition",
)


def as_example(summary: str, body: BaseModel) -> dict[str, Any]:
    """One example of a body, as OpenAPI has it."""
    return {"summary": summary, "value": body.model_dump(mode="json")}


QUEUED = {"queued": as_example("It waits", _QUEUED)}
DONE = {"done": as_example("It has its report", DONE_INSPECTION)}
_CANCELLED = _QUEUED.model_copy(
    update=_ENDED | {"state": "cancelled", "links": _QUEUED.links.model_copy(update={"cancellation": None})}
)
_SHARE = Share(
    id="shr_2wq5m7zk4v3xj6h2ckw7y4b5da", created_at=_MADE, expires_at=datetime(2026, 12, 2, 9, 30, tzinfo=UTC)
)

FAILED = {"failed": as_example("There is no report", _FAILED)}
LISTED = {"listed": as_example("The only one", InspectionList(inspections=[DONE_INSPECTION], next=None))}
DELIVERED = {"waiting": as_example("The second try is due in five seconds", DeliveryList(deliveries=[_DELIVERY]))}
REPEATED = {"waiting": as_example("A try is due at once", _DELIVERY)}
CANCELLED = {"cancelled": as_example("It is stopped", _CANCELLED)}
SHARED = {
    "made": as_example(
        "A link that leads nowhere",
        NewShare(**dict(_SHARE), link="https://press.tern-island.example/shared/" + "A" * 43),
    )
}
SHARES = {"listed": as_example("The only one", ShareList(shares=[_SHARE]))}
FORM_BODY = {
    "book": {
        "summary": "The file, and the printer that it is for",
        "value": {"file": "%PDF-1.7 …", "profile": "ternhaven-mono", "title": "The Long Mole"},
    }
}
FORM_OF_A_TITLE = {"book": {"summary": "The file alone", "value": {"file": "%PDF-1.7 …"}}}
SECRET = {"secret": as_example("A secret that signs nothing", CallbackSecret(secret="whsec_" + "A" * 43 + "="))}
SUMMARY = {"kept": as_example("One of your own", _SUMMARY)}
PROFILES = {"listed": as_example("The only one", ProfileList(profiles=[_SUMMARY]))}
PROFILE_TOML = {"small": {"summary": "A small profile", "value": _TOML}}
PROFILE = {"small": {"summary": "A small profile", "value": tomllib.loads(_TOML)}}
