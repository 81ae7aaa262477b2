"""An inspection as its owner sees it: what the API answers, and what a callback says."""

from __future__ import annotations

from datetime import datetime

from pydantic import BaseModel, ConfigDict, Field

from worker.judge.models import Verdict
from worker.measure.models import File
from worker.store import Inspection as Row
from worker.store import State

__all__ = ["Failure", "Inspection", "InspectionLinks", "Progress", "Shown", "address_of", "inspection"]


class Shown(BaseModel):
    """What the API gives."""

    model_config = ConfigDict(frozen=True, populate_by_name=True, serialize_by_alias=True)


class Progress(Shown):
    """Pages measured; ``total`` is null until they are counted."""

    done: int
    total: int | None


class Failure(Shown):
    """Why there is no report, and what to do about it."""

    code: str
    message: str
    help: str
    page: int | None
    attempt: int


class InspectionLinks(Shown):
    """Addresses on this service; null where there is nothing (yet). ``pages`` is a template (RFC 6570)."""

    self_: str = Field(alias="self")
    report: str | None
    report_html: str | None
    measurements: str | None
    pages: str | None
    proof: str | None
    judgements: str | None
    deliveries: str
    cancellation: str | None


class Inspection(Shown):
    """One file, measured, and judged against one printer profile."""

    id: str
    state: State
    file: File
    profile: str
    title: str | None
    judged_as_pages: int | None = Field(description="As asked for at intake; null: as many as the file has.")
    against: str | None = Field(description="The earlier inspection that its report is compared with.")
    position: int | None = Field(description="Place in the queue, from 1; null unless it is queued.")
    progress: Progress
    verdict: Verdict | None
    failure: Failure | None
    created_at: datetime
    measured_at: datetime | None
    finished_at: datetime | None
    expires_at: datetime = Field(description="When the inspection and all that belongs to it is deleted.")
    file_expires_at: datetime = Field(description="When the uploaded file is; `judgements` work without it.")
    pictures_expire_at: datetime = Field(description="When the pages' pictures and the proof are.")
    links: InspectionLinks


def address_of(inspection_id: str) -> str:
    """Where an inspection is found."""
    return f"/v1/inspections/{inspection_id}"


def inspection(row: Row, position: int | None) -> Inspection:
    """A row as its owner sees it; ``position`` is its place in the queue."""
    return Inspection(
        id=row.id,
        state=row.state,
        file=File(name=row.file_name, sha256=row.sha256, bytes=row.bytes),
        profile=row.profile_id,
        title=row.title,
        judged_as_pages=row.judged_as_pages,
        against=row.against,
        position=position,
        progress=Progress(done=row.progress_done, total=row.progress_total),
        verdict=Verdict(row.verdict) if row.verdict else None,
        failure=Failure.model_validate(row.failure) if row.failure else None,
        created_at=row.created_at,
        measured_at=row.measured_at,
        finished_at=row.finished_at,
        expires_at=row.expires_at,
        file_expires_at=row.file_until,
        pictures_expire_at=row.pictures_until,
        links=_links(row),
    )


def _links(row: Row) -> InspectionLinks:
    here = address_of(row.id)
    done = row.state == "done"
    return InspectionLinks(
        self_=here,
        report=f"{here}/report.json" if done else None,
        report_html=f"{here}/report.html" if done else None,
        measurements=f"{here}/measurements" if done else None,
        pages=f"{here}/pages/{{page}}.png" if done and row.has_pictures else None,
        proof=f"{here}/proof.pdf" if done and row.progress_total and row.has_pictures else None,
        judgements=f"{here}/judgements" if done else None,
        deliveries=f"{here}/deliveries",
        cancellation=None if row.finished else f"{here}/cancellation",
    )
